"""What IndexedDB keeps: keys in their order, ranges of them, databases, what a power cut leaves."""

import bisect
from dataclasses import dataclass, field

from tests.support.scripted_browser.values import JsArray, JsException, Uint8Array, number


def encoded(key):
    """Return a key in a form that sorts as IndexedDB does: numbers, strings, bytes, arrays."""
    if isinstance(key, bool) or key is None:
        raise JsException("DataError", "no valid key")
    if isinstance(key, int | float):
        if key != key or (isinstance(key, int) and abs(key) > 2**53):  # noqa: PLR0124 - NaN
            raise JsException("DataError", "no valid key")  # Pyodide makes a BigInt of the latter
        return (1, float(key))
    if isinstance(key, str):
        return (3, key.encode("utf-16-be"))
    if isinstance(key, Uint8Array):
        return (4, key.to_bytes())
    if isinstance(key, JsArray):
        return (5, tuple(encoded(item) for item in key))
    raise JsException("DataError", "no valid key")


def decoded(key):
    kind, value = key
    if kind == 1:
        return number(value)
    if kind == 3:
        return value.decode("utf-16-be")
    if kind == 4:
        return Uint8Array(value)
    return JsArray(decoded(item) for item in value)


@dataclass(frozen=True)
class KeyRange:
    """IDBKeyRange, both ends within."""

    lower: tuple
    upper: tuple


def query_of(query):
    """Return a range from what a request was given: nothing, a range or a key."""
    if isinstance(query, KeyRange):
        return query
    if query is None:
        return KeyRange((0,), (9,))
    key = encoded(query)
    return KeyRange(key, key)


class Rows:
    """The rows of one object store, by key in order."""

    def __init__(self, keys=(), values=()):
        self.keys = list(keys)
        self.values = list(values)

    def copy(self):
        return Rows(self.keys, self.values)

    def span(self, found):
        return slice(
            bisect.bisect_left(self.keys, found.lower), bisect.bisect_right(self.keys, found.upper)
        )

    def put(self, key, value):
        at = bisect.bisect_left(self.keys, key)
        if at < len(self.keys) and self.keys[at] == key:
            self.values[at] = value
        else:
            self.keys.insert(at, key)
            self.values.insert(at, value)

    def delete(self, found):
        span = self.span(found)
        del self.keys[span]
        del self.values[span]

    def size(self):
        return sum(len(value) for value in self.values)


@dataclass
class Database:
    """One database: committed rows, and those that a power cut would leave.

    `durable` differs from `stores` after a commit of relaxed durability. `before` is what was
    there before a commit that has not told of its end: either may be left.
    """

    version: int = 0
    stores: dict[str, Rows] = field(default_factory=dict)
    durable: tuple = (0, {})
    before: tuple | None = None

    def commit(self, version, changed, *, strict):
        self.before = (self.version, self.stores)
        self.version = version
        self.stores = self.stores | changed
        if strict:
            self.durable = (self.version, self.stores)

    def told(self):
        self.before = None

    def left(self, chance, *, power):
        states = [(self.version, self.stores)]
        if self.before is not None:
            states.append(self.before)
        if power and self.durable[1] is not self.stores:
            states.append(self.durable)
        version, stores = chance.choice(states)
        return Database(version, dict(stores), (version, stores))
