"""What can go wrong while the site is built or served: `str()` is the sentence to print."""


class BuildFailed(Exception):  # noqa: N818 - the command line's word for it
    """The site could not be built."""


class ClientChanged(BuildFailed):
    """A file of the installed web client is not what the build was written for."""

    def __init__(self, name: str, expected: str) -> None:
        self.name = name
        self.expected = expected
        super().__init__(
            f"the installed flet-web client has changed: {name} no longer has {expected}. "
            "Install what is locked, or adapt mobile/packaging/client.py"
        )


class CannotServe(Exception):  # noqa: N818 - the command line's word for it
    """The local server could not start."""


class PortInUse(CannotServe):
    """Another program listens on the port."""

    def __init__(self, host: str, port: int) -> None:
        self.host = host
        self.port = port
        super().__init__(
            f"port {port} on {host} is in use: end the other program or pass another --port"
        )
