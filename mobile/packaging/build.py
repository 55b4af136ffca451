"""Assembles the static, offline site: client, our page, fonts, icons, the Python archive."""

import json
import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path

from mobile.packaging import archive, client, icons, precache
from mobile.packaging.errors import BuildFailed
from mobile.packaging.policy import content_security_policy
from mobile.packaging.short_pages import PREFIX as SHORT

__all__ = ["BuildFailed", "BuildReport", "build"]

ROOT = Path(__file__).resolve().parents[2]
SOURCES = precache.SOURCES
ASSETS = ROOT / "assets"
_TEMPLATES = {"index.html", "manifest.webmanifest"}


@dataclass(frozen=True, slots=True)
class BuildReport:
    """What was built: `str()` is one line for the command line."""

    out: Path
    base: str
    build_id: str
    files: int
    size_bytes: int
    archive_bytes: int
    icon_font_is_subset: bool

    def __str__(self) -> str:
        megabytes = self.size_bytes / 1e6
        return (
            f"built {self.build_id} in {self.out}: {self.files} files, {megabytes:.1f} MB "
            f"(Python part {self.archive_bytes / 1e6:.2f} MB), for {self.base}"
        )


def build(out: Path, *, base: str = "/") -> BuildReport:
    """Assemble the site into a folder, replacing what was there.

    Parameters
    ----------
    out : Path
        The site folder. It is replaced as a whole, and only when the build succeeded.
        A folder that holds anything but an earlier build is refused.
    base : str
        Path below which the site is served: "/" or "/name/".

    Returns
    -------
    BuildReport
        Build id, file count and sizes (bytes).

    Raises
    ------
    BuildFailed
        When the wheel, the packages or the target are not as expected.
    """
    if not (base.startswith("/") and base.endswith("/")):
        raise BuildFailed(f"the base {base!r} must begin and end with a slash, as in /sumpside/")
    out = out.resolve()
    if out.exists() and not _may_replace(out):
        raise BuildFailed(f"{out} holds other files: give an empty or new folder")
    out.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=out.parent, prefix=f".{out.name}-") as scratch:
        site = Path(scratch) / "site"
        report = _assemble(site, out, base)
        shutil.rmtree(out, ignore_errors=True)
        site.rename(out)
    return report


def _may_replace(out: Path) -> bool:
    return out.is_dir() and (
        not any(out.iterdir())
        or ((out / precache.SERVICE_WORKER).is_file() and (out / "app.zip").is_file())
    )


def _assemble(site: Path, out: Path, base: str) -> BuildReport:
    site.mkdir()
    client.copy_client(site)
    for path in sorted(SOURCES.iterdir()):
        if path.name != precache.SERVICE_WORKER and not path.name.startswith((".", SHORT)):
            shutil.copyfile(path, site / path.name)
    _copy_assets(site)
    is_subset = icons.copy_icon_font(ROOT, site / client.ICON_FONT)
    archive_bytes = archive.write_archive(ROOT, site / "app.zip")
    template = (SOURCES / precache.SERVICE_WORKER).read_text(encoding="utf-8")
    _fill_templates(site, base)
    build_id = precache.build_id(precache.list_files(site), template)
    _fill(site / "index.html", {"__BUILD__": build_id})
    precache.write_service_worker(site, template, base=base, build=build_id)
    sizes = [path.stat().st_size for path in site.rglob("*") if path.is_file()]
    return BuildReport(out, base, build_id, len(sizes), sum(sizes), archive_bytes, is_subset)


def _copy_assets(site: Path) -> None:
    (site / "icons").mkdir()
    for path in sorted((ASSETS / "icons").iterdir()):
        if path.suffix in {".png", ".svg"}:
            shutil.copyfile(path, site / "icons" / path.name)
    (site / "assets" / "fonts").mkdir(parents=True, exist_ok=True)
    for path in sorted((ASSETS / "fonts").glob("sumpside-sans-*.woff2")):
        shutil.copyfile(path, site / "assets" / "fonts" / path.name)
    shutil.copyfile(ASSETS / "fonts" / "fallback.ttf", site / "assets/fonts/fallback.ttf")
    shutil.copyfile(ASSETS / "fonts" / "LICENSE.txt", site / "assets/fonts/LICENSE.txt")
    (site / "screenshots").mkdir()
    for path in sorted((ASSETS / "screenshots").glob("*.png")):
        shutil.copyfile(path, site / "screenshots" / path.name)


def _fill_templates(site: Path, base: str) -> None:
    values = {"__BASE__": base, "__POLICY__": content_security_policy(in_page=True)}
    for name in sorted(_TEMPLATES):
        _fill(site / name, values)
    _list_screenshots(site)


def _fill(path: Path, values: dict[str, str]) -> None:
    text = path.read_text(encoding="utf-8")
    for mark, value in values.items():
        text = text.replace(mark, value)
    path.write_text(text, encoding="utf-8", newline="\n")


def _list_screenshots(site: Path) -> None:
    """Name the screenshots that exist, with their true sizes, in the web app manifest."""
    path = site / "manifest.webmanifest"
    manifest = json.loads(path.read_text(encoding="utf-8"))
    manifest["screenshots"] = [
        {
            "src": f"screenshots/{image.name}",
            "sizes": "{}x{}".format(*_png_size(image)),
            "type": "image/png",
            "form_factor": "wide" if image.name.startswith("wide") else "narrow",
            "label": image.stem.partition("-")[2].replace("-", " ").capitalize(),
        }
        for image in sorted((site / "screenshots").glob("*.png"), key=lambda path: path.name)
    ]
    path.write_text(
        json.dumps(manifest, indent=1, ensure_ascii=False), encoding="utf-8", newline="\n"
    )


def _png_size(path: Path) -> tuple[int, int]:
    header = path.read_bytes()[:24]
    return int.from_bytes(header[16:20], "big"), int.from_bytes(header[20:24], "big")
