"""The build: what is in the site, the same every time, and loud when a wheel changes."""

import hashlib
import json
import re
import zipfile
from pathlib import Path

import pytest

from mobile.packaging import archive, client, precache
from mobile.packaging.archive import ZONE_FILE
from mobile.packaging.build import BuildFailed, build
from mobile.packaging.errors import ClientChanged
from tests.support.browser import Site, build_once


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Site:
    return build_once(tmp_path_factory, "/")


def names(site: Site) -> set[str]:
    root = site.path
    return {path.relative_to(root).as_posix() for path in root.rglob("*") if path.is_file()}


def settings(site: Site) -> dict:
    text = (site.path / precache.SERVICE_WORKER).read_text(encoding="utf-8")
    found = re.search(r"^const \{ [a-z, ]+ \} = (.*);$", text, re.MULTILINE)
    assert found
    return json.loads(found.group(1))


def members(site: Site) -> list[str]:
    with zipfile.ZipFile(site.path / "app.zip") as app:
        return app.namelist()


def test_trap_2_the_runtime_is_imported_by_a_relative_module_path(site: Site) -> None:
    worker = (site.path / "python_worker.js").read_text(encoding="utf-8")
    specifiers = re.findall(r"import\('([^']+)'\)", worker)
    assert specifiers == ["./pyodide/pyodide.mjs"]


def test_trap_3_nothing_in_the_archive_asks_for_an_installation(site: Site) -> None:
    listed = members(site)
    assert "mobile/main.py" in listed
    assert "__pypackages__/msgpack/fallback.py" in listed
    for name in listed:
        assert Path(name).name not in {"requirements.txt", "pyproject.toml"}
        assert Path(name).suffix in {".py", ".json", ".txt"} or name.endswith(ZONE_FILE)
    assert f"__pypackages__/{ZONE_FILE}" in listed
    worker = (site.path / "python_worker.js").read_text(encoding="utf-8")
    assert "micropip" not in worker
    assert "loadPackage" not in worker
    assert not any("micropip" in name for name in names(site))


def test_trap_3_a_package_list_stops_the_build(tmp_path: Path) -> None:
    (tmp_path / "engine").mkdir()
    (tmp_path / "engine" / "requirements.txt").write_text("x", encoding="utf-8")
    with pytest.raises(BuildFailed, match=r"requirements\.txt"):
        archive.write_archive(tmp_path, tmp_path / "app.zip")


def test_trap_4_flutter_registers_no_service_worker(site: Site) -> None:
    bootstrap = (site.path / "flutter_bootstrap.js").read_text(encoding="utf-8")
    assert "serviceWorkerSettings:" not in bootstrap.rpartition("_flutter.loader.load(")[2]
    assert "flutter_service_worker.js" not in names(site)


def test_trap_5_every_font_request_stays_at_home(site: Site) -> None:
    start = (site.path / "start.js").read_text(encoding="utf-8")
    assert "fontFallbackBaseUrl: `${sumpside.base}assets/fonts/fallback.ttf?for=`" in start
    assert "assets/fonts/fallback.ttf" in names(site)
    families = json.loads((site.path / "assets/FontManifest.json").read_text(encoding="utf-8"))
    assert {entry["family"] for entry in families} == {"MaterialIcons", "Sumpside Sans", "Roboto"}
    for entry in families:
        for font in entry["fonts"]:
            assert f"assets/{font['asset']}" in names(site)


def test_trap_6_the_third_party_script_is_replaced(site: Site) -> None:
    text = (site.path / "main.dart.js").read_text(encoding="utf-8")
    assert "rive-app/flutter-native-wasm" not in text
    assert "cdn.jsdelivr.net" not in text
    assert f"{client.LEFT_OUT}wasm/rive_native.js" in names(site)


def test_trap_7_no_stack_switching_call_in_our_python(site: Site) -> None:
    banned = re.compile(r"\b(run_until_complete|run_sync|asyncio\.run)\b")
    with zipfile.ZipFile(site.path / "app.zip") as app:
        ours = [name for name in app.namelist() if not name.startswith("__pypackages__/")]
        found = [name for name in ours if banned.search(app.read(name).decode())]
    assert found == []


def test_trap_8_the_language_is_repaired_before_flutter_loads(site: Site) -> None:
    page = (site.path / "index.html").read_text(encoding="utf-8")
    scripts = re.findall(r'<script src="([^"]+)"', page)
    assert scripts[0] == "start.js"
    assert "repairLanguage" in (site.path / "start.js").read_text(encoding="utf-8")


def test_python_starts_before_flutter(site: Site) -> None:
    page = (site.path / "index.html").read_text(encoding="utf-8")
    scripts = re.findall(r'<script src="([^"]+)"', page)
    assert scripts.index("python.js") < scripts.index("flutter_bootstrap.js")


def test_the_client_is_told_to_use_the_one_renderer_that_is_shipped(site: Site) -> None:
    bootstrap = (site.path / "flutter_bootstrap.js").read_text(encoding="utf-8")
    assert 'canvasKitVariant: "full"' in bootstrap
    assert [name for name in names(site) if name.endswith("canvaskit.wasm")] == [
        "canvaskit/canvaskit.wasm"
    ]


@pytest.mark.parametrize(
    "unused",
    ["symbols", "skwasm", "wimp", "main.dart.wasm", "python.exe", "media_kit", ".d.ts", "KaTeX"],
)
def test_unused_parts_of_the_client_are_left_out(site: Site, unused: str) -> None:
    assert not any(unused in name for name in names(site))


def test_the_archive_holds_the_app_and_no_launcher_or_build(site: Site) -> None:
    listed = members(site)
    assert any(name.startswith("engine/") for name in listed)
    for absent in ("mobile/packaging/", "mobile/web/", "mobile/__main__.py", "mobile/cli.py"):
        assert not any(name.startswith(absent) for name in listed)
    assert not any("testsuite" in name or "__pycache__" in name for name in listed)


def test_pages_have_no_inline_script_and_the_policy_allows_none(site: Site) -> None:
    for name in ("index.html", "emergency.html", "recovery.html"):
        page = (site.path / name).read_text(encoding="utf-8")
        assert re.findall(r"<script(?![^>]*\bsrc=)", page) == []
        assert re.findall(r"\son\w+\s*=", page) == []
        policy = re.search(r'Content-Security-Policy" content="([^"]+)"', page)
        assert policy
        script = re.search(r"script-src ([^;]+)", policy.group(1))
        assert script
        assert "unsafe-inline" not in script.group(1)
        assert "frame-ancestors" not in policy.group(1)


def test_the_service_worker_lists_every_file_with_its_true_digest(site: Site) -> None:
    listed = settings(site)["files"]
    assert set(listed) == names(site) - {precache.SERVICE_WORKER, precache.NOTICES}
    for name, (digest, size, _type) in listed.items():
        content = (site.path / name).read_bytes()
        assert (hashlib.sha256(content).hexdigest(), len(content)) == (digest, size)


def test_the_page_and_its_service_worker_name_the_same_build(site: Site) -> None:
    page = (site.path / "index.html").read_text(encoding="utf-8")
    assert f'name="sumpside-build" content="{settings(site)["build"]}"' in page
    assert settings(site)["build"] == site.report.build_id
    assert "__" not in re.sub(r"__pypackages__", "", page)


def test_the_same_sources_give_the_same_bytes(tmp_path: Path) -> None:
    first = build(tmp_path / "first")
    second = build(tmp_path / "second")
    assert first.build_id == second.build_id
    for name in names(Site(first.out, first)):
        assert (first.out / name).read_bytes() == (second.out / name).read_bytes(), name


def test_a_base_reaches_page_manifest_and_service_worker(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    site = build_once(tmp_path_factory, "/sumpside/")
    page = (site.path / "index.html").read_text(encoding="utf-8")
    assert '<base href="/sumpside/">' in page
    manifest = json.loads((site.path / "manifest.webmanifest").read_text(encoding="utf-8"))
    for key in ("id", "scope", "start_url"):
        assert manifest[key] == "/sumpside/"
    assert settings(site)["base"] == "/sumpside/"


def test_the_manifest_names_files_that_exist_with_their_sizes(site: Site) -> None:
    manifest = json.loads((site.path / "manifest.webmanifest").read_text(encoding="utf-8"))
    for image in manifest["icons"] + manifest["screenshots"]:
        path = site.path / image["src"]
        assert path.is_file()
        if path.suffix == ".png":
            header = path.read_bytes()[16:24]
            size = f"{int.from_bytes(header[:4])}x{int.from_bytes(header[4:])}"
            assert size == image["sizes"]
    purposes = {(icon["sizes"], icon["purpose"]) for icon in manifest["icons"]}
    assert {("192x192", "maskable"), ("512x512", "maskable")} <= purposes
    assert {shot["form_factor"] for shot in manifest["screenshots"]} == {"narrow", "wide"}
    assert [shortcut["url"] for shortcut in manifest["shortcuts"]] == [
        "./#/record",
        "./emergency.html",
    ]
    for key in ("name", "short_name", "lang", "dir", "categories", "theme_color"):
        assert manifest[key]


def test_a_changed_wheel_file_fails_with_a_sentence(tmp_path: Path) -> None:
    path = tmp_path / "flutter_bootstrap.js"
    path.write_text("nothing to find here", encoding="utf-8")
    for patch in (client._drop_flutter_service_worker, client._choose_one_canvaskit):
        with pytest.raises(ClientChanged, match=r"flutter_bootstrap\.js no longer has"):
            patch(path)
    (tmp_path / "main.dart.js").write_text("", encoding="utf-8")
    with pytest.raises(ClientChanged, match=r"main\.dart\.js no longer has"):
        client._keep_script_at_home(tmp_path)
    manifest = tmp_path / "FontManifest.json"
    manifest.write_text('[{"family": "Other", "fonts": []}]', encoding="utf-8")
    with pytest.raises(ClientChanged, match="MaterialIcons"):
        client._list_fonts(manifest)


def test_a_missing_wheel_file_fails_with_a_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(client, "FILES", ("main.dart.js", "gone.js"))
    with pytest.raises(ClientChanged, match=r"gone\.js no longer has the file itself"):
        client.copy_client(tmp_path / "out")


def test_a_folder_with_other_files_is_not_replaced(tmp_path: Path) -> None:
    (tmp_path / "letters.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(BuildFailed, match="holds other files"):
        build(tmp_path)
    assert (tmp_path / "letters.txt").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("base", ["", "sumpside", "/sumpside", "sumpside/"])
def test_a_base_without_slashes_is_refused(tmp_path: Path, base: str) -> None:
    with pytest.raises(BuildFailed, match="slash"):
        build(tmp_path / "out", base=base)


def test_the_report_is_one_line(site: Site) -> None:
    assert re.fullmatch(r"built [0-9a-f]{12} in .*: \d+ files, [\d.]+ MB .*", str(site.report))
