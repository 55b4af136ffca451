"""Values of the JavaScript side as Pyodide hands them to Python and takes them back."""

import asyncio
from types import SimpleNamespace


class JsException(Exception):  # noqa: N818 - its name in Pyodide
    """A JavaScript error or DOMException; `name` is what the standards give it."""

    def __init__(self, name, message=""):
        self.name = name
        self.message = message
        super().__init__(f"{name}: {message}" if message else name)


class JsNull:
    """JavaScript's null, which is not the None of undefined."""

    def __bool__(self):
        return False


NULL = JsNull()


class JsArray(list):
    def to_py(self):
        return [item.to_py() if isinstance(item, JsArray) else item for item in self]


class JsObject(SimpleNamespace):
    """A plain object, as options are given."""


class Uint8Array:
    def __init__(self, data):
        self.data = bytearray(data)

    @property
    def length(self):
        return len(self.data)

    def assign(self, data):
        if len(data) != len(self.data):
            raise ValueError("the buffer has another length")
        self.data[:] = data

    def to_bytes(self):
        return bytes(self.data)


class Proxy:
    """A Python function that JavaScript may call until it is destroyed."""

    def __init__(self, function):
        self._function = function

    def __call__(self, *arguments):
        if self._function is None:
            raise JsException("Error", "Object has already been destroyed")
        return self._function(*arguments)

    def destroy(self):
        self._function = None


def create_proxy(function):
    return Proxy(function)


def from_entries(entries):
    return JsObject(**dict(entries))


def to_js(value, *, dict_converter=None):
    if isinstance(value, bytes | bytearray):
        return Uint8Array(value)
    if isinstance(value, dict):
        if dict_converter is None:
            raise TypeError("without a converter this would be a Map, which no call of ours takes")
        return dict_converter(value.items())
    if isinstance(value, list | tuple):
        return JsArray(to_js(item, dict_converter=dict_converter) for item in value)
    return value


def number(value):
    """Return a JavaScript number as Pyodide converts it."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


def new_promise(executor):
    """Return `new Promise(executor)`."""
    promise = asyncio.get_running_loop().create_future()

    def resolve(value=None):
        if not promise.done():
            promise.set_result(value)

    def reject(error):
        if not promise.done():
            promise.set_exception(error)

    executor(resolve, reject)
    return promise
