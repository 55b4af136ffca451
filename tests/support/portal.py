"""A network that fails as networks do: gone, silent, or a portal that answers 200 to everything."""

import contextlib
import functools
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Literal
from urllib.parse import unquote, urlsplit

from mobile.packaging.precache import media_type

LOGIN = b"<!DOCTYPE html><title>Sign in</title><h1>Welcome to the harbour Wi-Fi</h1>"
Mode = Literal["site", "portal", "silent", "error", "gone"]


class Network:
    """Sites by their base, and how the way to them is: see `mode`."""

    def __init__(self, sites: dict[str, Path]) -> None:
        self.sites = sites
        self.mode: Mode = "site"
        self.url = ""
        self.asked: list[str] = []
        self.ended = threading.Event()

    def find(self, path: str) -> Path | None:
        """Return the file behind a path."""
        for base in sorted(self.sites, key=len, reverse=True):
            if path.startswith(base):
                name = path.removeprefix(base) or "index.html"
                found = self.sites[base] / name
                return found if found.is_file() else None
        return None


class _Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"

    def __init__(self, network: Network, *args: object) -> None:
        self.network = network
        super().__init__(*args)  # pyright: ignore[reportArgumentType]

    def do_GET(self) -> None:
        path = unquote(urlsplit(self.path).path)
        self.network.asked.append(path)
        mode = self.network.mode
        if mode == "silent":
            self.network.ended.wait()
            self.close_connection = True
        elif mode == "gone":  # on a connection from before
            self.close_connection = True
        elif mode == "portal":
            self._send(200, LOGIN, "text/html; charset=utf-8")
        elif mode == "error":
            self._send(500, b"broken", "text/plain")
        elif found := self.network.find(path):
            self._send(200, found.read_bytes(), media_type(found.name))
        else:
            self._send(404, b"Not found", "text/plain")

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002
        """Say nothing."""

    def _send(self, status: int, content: bytes, kind: str) -> None:
        with contextlib.suppress(ConnectionError):
            self.send_response(status)
            self.send_header("Content-Type", kind)
            self.send_header("Content-Length", str(len(content)))
            self.end_headers()
            self.wfile.write(content)


class _Server(ThreadingHTTPServer):
    daemon_threads = True
    request_queue_size = 64

    def handle_error(self, request: object, client_address: object) -> None:
        """Pass over a browser that went away."""


class Gate:
    """Opens and closes the port itself, for a network that is gone."""

    def __init__(self, network: Network) -> None:
        self._network = network
        self._server: _Server | None = None
        self._port = 0

    def open(self) -> None:
        """Listen, on the same port again after `close`."""
        self._network.mode = "site"
        handler = functools.partial(_Handler, self._network)
        self._server = _Server(("127.0.0.1", self._port), handler)
        self._port = self._server.server_address[1]
        threading.Thread(
            target=self._server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True
        ).start()
        self._network.url = f"http://127.0.0.1:{self._port}"

    def close(self) -> None:
        """Refuse every connection from now on, and answer no old one."""
        self._network.mode = "gone"
        if self._server is not None:
            self._server.shutdown()
            self._server.server_close()
            self._server = None


@contextlib.contextmanager
def network(sites: dict[str, Path]) -> Iterator[tuple[Network, Gate]]:
    """Serve sites by base until the block ends."""
    made = Network(sites)
    gate = Gate(made)
    gate.open()
    try:
        yield made, gate
    finally:
        made.ended.set()
        gate.close()
