"""A small server for the built site on this machine: right types, the policy, no caching."""

import contextlib
import errno
import functools
import hashlib
import sys
import threading
from collections.abc import Callable, Iterator
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import unquote, urlsplit

from mobile.packaging.errors import CannotServe, PortInUse
from mobile.packaging.policy import content_security_policy
from mobile.packaging.precache import media_type

__all__ = ["CannotServe", "serve", "serving"]

LOCALHOST = "127.0.0.1"


class _Server(ThreadingHTTPServer):
    daemon_threads = True
    request_queue_size = 64

    def handle_error(self, request: object, client_address: object) -> None:
        """Pass over a browser that went away in the middle of an answer."""
        if not isinstance(sys.exc_info()[1], ConnectionError):
            super().handle_error(request, client_address)  # pyright: ignore[reportArgumentType]


class _Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    server_version = "Sumpside"

    def __init__(self, site: Path, base: str, watch: Callable[[str], None], *args: object) -> None:
        self.site = site
        self.base = base
        self.watch = watch
        super().__init__(*args)  # pyright: ignore[reportArgumentType]

    def do_GET(self) -> None:
        self._answer(with_body=True)

    def do_HEAD(self) -> None:
        self._answer(with_body=False)

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002
        """Say nothing for each request: the terminal shows the address and errors only."""

    def _answer(self, *, with_body: bool) -> None:
        path = unquote(urlsplit(self.path).path)
        if path == self.base.rstrip("/") or (path == "/" and self.base != "/"):
            self._send(HTTPStatus.FOUND, b"", {"Location": self.base}, with_body=with_body)
            return
        name = path.removeprefix(self.base) if path.startswith(self.base) else ""
        self.watch(name)
        found = self._find("index.html" if path == self.base else name)
        if found is None:
            headers = {"Content-Type": "text/plain; charset=utf-8"}
            self._send(HTTPStatus.NOT_FOUND, b"Not found\n", headers, with_body=with_body)
            return
        content = found.read_bytes()
        tag = f'"{hashlib.sha256(content).hexdigest()[:32]}"'
        headers = {"ETag": tag, "Content-Type": media_type(found.name)}
        if self.headers.get("If-None-Match") == tag:
            self._send(HTTPStatus.NOT_MODIFIED, b"", headers, with_body=False)
        else:
            self._send(HTTPStatus.OK, content, headers, with_body=with_body)

    def _find(self, name: str) -> Path | None:
        path = (self.site / name).resolve()
        return path if name and path.is_file() and path.is_relative_to(self.site) else None

    def _send(
        self, status: HTTPStatus, body: bytes, headers: dict[str, str], *, with_body: bool
    ) -> None:
        common = {
            "Cache-Control": "no-cache",
            "Content-Security-Policy": content_security_policy(),
            "X-Content-Type-Options": "nosniff",
            "Referrer-Policy": "same-origin",
        }
        self.send_response(status)
        for key, value in (common | headers).items():
            self.send_header(key, value)
        if status is not HTTPStatus.NOT_MODIFIED:
            self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        if with_body:
            self.wfile.write(body)


@contextlib.contextmanager
def serving(
    site: Path,
    *,
    host: str = LOCALHOST,
    port: int = 0,
    base: str = "/",
    watch: Callable[[str], None] = lambda _name: None,
) -> Iterator[str]:
    """Serve a site in a background thread; yields its address.

    Parameters
    ----------
    site : Path
        A folder written by `build`; files are read at each request.
    host, port : str, int
        Address to listen at; port 0 takes a free one.
    base : str
        Path below which the site was built, "/" or "/name/".
    watch : Callable[[str], None]
        Called with the name of each file asked for.

    Raises
    ------
    CannotServe
        When there is no site; its subclass PortInUse when the port is taken.
    """
    server = _listen(site, host, port, base, watch)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05})
    thread.start()
    try:
        yield f"http://{host}:{server.server_address[1]}{base}"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def serve(site: Path, *, host: str = LOCALHOST, port: int = 8737, base: str = "/") -> None:
    """Serve a site until Ctrl+C, printing its address.

    Parameters and errors are those of `serving`.
    """
    server = _listen(site, host, port, base, lambda _name: None)
    name = "localhost" if host == LOCALHOST else host
    print(f"Sumpside: open http://{name}:{port}{base} (Ctrl+C ends)", flush=True)
    with contextlib.suppress(KeyboardInterrupt), server:
        server.serve_forever()


def _listen(site: Path, host: str, port: int, base: str, watch: Callable[[str], None]) -> _Server:
    if not (site / "index.html").is_file():
        raise CannotServe(f"there is no built site in {site}")
    handler = functools.partial(_Handler, site.resolve(), base, watch)
    try:
        return _Server((host, port), handler)
    except OSError as error:
        if error.errno == errno.EADDRINUSE:
            raise PortInUse(host, port) from error
        raise CannotServe(f"cannot listen at {host}:{port}: {error.strerror}") from error
