"""The local server: this machine only, right types, the policy, no stale files."""

import socket
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from mobile.packaging.errors import PortInUse
from mobile.packaging.policy import content_security_policy
from mobile.packaging.server import CannotServe, serve, serving


@pytest.fixture
def site(tmp_path: Path) -> Path:
    folder = tmp_path / "site"
    folder.mkdir()
    (folder / "index.html").write_text("<h1>app</h1>", encoding="utf-8")
    (folder / "a.mjs").write_text("1", encoding="utf-8")
    (folder / "b.wasm").write_bytes(b"\0asm")
    (folder / "manifest.webmanifest").write_text("{}", encoding="utf-8")
    (tmp_path / "secret.txt").write_text("outside", encoding="utf-8")
    return folder


@pytest.fixture(params=["/", "/sumpside/"])
def url(site: Path, request: pytest.FixtureRequest) -> Iterator[str]:
    with serving(site, base=request.param) as address:
        yield address


def get(url: str, **headers: str) -> tuple[int, bytes, dict[str, str]]:
    request = urllib.request.Request(
        url, headers={k.replace("_", "-"): v for k, v in headers.items()}
    )
    try:
        with urllib.request.urlopen(request, timeout=5) as response:
            return response.status, response.read(), dict(response.headers)
    except urllib.error.HTTPError as error:
        with error:
            return error.code, error.read(), dict(error.headers)


@pytest.mark.parametrize(
    ("name", "media_type"),
    [
        ("", "text/html; charset=utf-8"),
        ("a.mjs", "text/javascript"),
        ("b.wasm", "application/wasm"),
        ("manifest.webmanifest", "application/manifest+json"),
    ],
)
def test_files_have_their_types_the_policy_and_no_caching(
    url: str, name: str, media_type: str
) -> None:
    status, _body, headers = get(url + name)
    assert status == 200
    assert headers["Content-Type"] == media_type
    assert headers["Content-Security-Policy"] == content_security_policy()
    assert "frame-ancestors 'self'" in headers["Content-Security-Policy"]
    assert headers["Cache-Control"] == "no-cache"
    assert headers["X-Content-Type-Options"] == "nosniff"


def test_an_unchanged_file_is_not_sent_again_and_a_changed_one_is(url: str, site: Path) -> None:
    _status, _body, headers = get(url)
    status, body, _headers = get(url, If_None_Match=headers["ETag"])
    assert (status, body) == (304, b"")
    (site / "index.html").write_text("<h1>new</h1>", encoding="utf-8")
    status, body, _headers = get(url, If_None_Match=headers["ETag"])
    assert (status, body) == (200, b"<h1>new</h1>")


@pytest.mark.parametrize("name", ["absent.js", "../secret.txt", "%2e%2e/secret.txt", "/etc/passwd"])
def test_nothing_outside_the_site_is_served(url: str, name: str) -> None:
    status, body, _headers = get(url + name)
    assert status == 404
    assert b"outside" not in body


def test_the_root_leads_to_the_sub_folder(site: Path) -> None:
    with serving(site, base="/sumpside/") as url:
        status, body, _headers = get(url.removesuffix("sumpside/"))
        assert (status, body) == (200, b"<h1>app</h1>")


def test_a_port_in_use_is_one_clear_sentence(site: Path) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        with pytest.raises(PortInUse) as caught:
            serve(site, port=port)
    assert isinstance(caught.value, CannotServe)
    assert str(port) in str(caught.value)
    assert "--port" in str(caught.value)


def test_a_folder_without_a_site_is_refused(tmp_path: Path) -> None:
    with pytest.raises(CannotServe, match="no built site"):
        serve(tmp_path)


def test_only_this_machine_is_listened_to(site: Path) -> None:
    with serving(site) as url:
        assert url.startswith("http://127.0.0.1:")
