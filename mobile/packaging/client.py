"""What we take from the flet-web wheel: only the files in use, and four checked patches.

Each patch fails the build when the wheel no longer has what it replaces.
"""

import json
import re
from pathlib import Path

from mobile.packaging import installed
from mobile.packaging.errors import ClientChanged

DISTRIBUTION = "flet-web"
_TOP = "flet_web/web/"

# Everything else stays in the wheel: other renderers, symbols, media players, Flutter's own
# service worker, package installers, KaTeX and Cupertino fonts.
FILES = (
    "flutter_bootstrap.js",
    "main.dart.js",
    "version.json",
    "canvaskit/canvaskit.js",
    "canvaskit/canvaskit.wasm",
    "pyodide/pyodide.mjs",
    "pyodide/pyodide.asm.mjs",
    "pyodide/pyodide.asm.wasm",
    "pyodide/pyodide-lock.json",
    "pyodide/python_stdlib.zip",
    "assets/AssetManifest.bin",
    "assets/AssetManifest.bin.json",
    "assets/FontManifest.json",
    "assets/NOTICES",
    "assets/shaders/ink_sparkle.frag",
    "assets/shaders/stretch_effect.frag",
    "assets/packages/wakelock_plus/assets/no_sleep.js",
)
ICON_FONT = "assets/fonts/MaterialIcons-Regular.otf"
# Where the client looks for the script that it would otherwise load from a third party.
LEFT_OUT = "left-out/"


def wheel_folder() -> Path:
    """Return the folder of the web client inside the installed flet-web package."""
    return installed.folder(DISTRIBUTION) / _TOP


def wheel_files(names: tuple[str, ...]) -> dict[str, bytes]:
    """Return files of the client by name, as they were locked.

    Raises
    ------
    ClientChanged
        When one is missing.
    BuildFailed
        When one was edited, or another version is installed.
    """
    listed = {_TOP + name for name in names}
    found = installed.files(DISTRIBUTION, listed.__contains__)
    for name in names:
        if _TOP + name not in found:
            raise ClientChanged(name, "the file itself")
    return {name.removeprefix(_TOP): content for name, content in found.items()}


def copy_client(out: Path) -> None:
    """Copy the client's files in use into `out` and patch them.

    Parameters
    ----------
    out : Path
        The site folder.

    Raises
    ------
    ClientChanged
        When a file is missing or a patch finds nothing to change.
    """
    for name, content in wheel_files(FILES).items():
        target = out / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)
    _drop_flutter_service_worker(out / "flutter_bootstrap.js")
    _choose_one_canvaskit(out / "flutter_bootstrap.js")
    _keep_script_at_home(out)
    _list_fonts(out / "assets" / "FontManifest.json")


def replace_once(path: Path, pattern: str, replacement: str, expected: str) -> None:
    """Replace the one match of a regular expression in a file.

    Raises
    ------
    ClientChanged
        When the pattern does not match exactly once; `expected` says what was looked for.
    """
    text, count = re.subn(
        pattern, lambda _: replacement, path.read_text(encoding="utf-8"), flags=re.DOTALL
    )
    if count != 1:
        raise ClientChanged(path.name, expected)
    path.write_text(text, encoding="utf-8", newline="\n")


def _drop_flutter_service_worker(bootstrap: Path) -> None:
    """Left in, it replaces our service worker and reloads the page for ever."""
    replace_once(
        bootstrap,
        r"    serviceWorkerSettings: \{[^}]*\},\n",
        "",
        "its service worker settings",
    )


def _choose_one_canvaskit(bootstrap: Path) -> None:
    """One renderer file for every browser, so that one set of files is stored for offline use."""
    replace_once(
        bootstrap,
        r"var flutterConfig = \{\n",
        'var flutterConfig = {\n    canvasKitVariant: "full",\n',
        "its configuration object",
    )


def _keep_script_at_home(out: Path) -> None:
    """Point the animation runtime, which we do not use, at a file of ours that does nothing."""
    replace_once(
        out / "main.dart.js",
        r'"https://cdn\.jsdelivr\.net/npm/@rive-app/flutter-native-wasm@[\d.]+/"',
        f'"{LEFT_OUT}"',
        "the address of its third-party script",
    )
    stub = out / LEFT_OUT / "wasm" / "rive_native.js"
    stub.parent.mkdir(parents=True)
    stub.write_text(
        "window.RiveNative = () => new Promise(() => {});\n", encoding="utf-8", newline="\n"
    )


def _list_fonts(manifest: Path) -> None:
    """Keep the icon font; the client loads every listed family at each start."""
    families = {entry["family"] for entry in json.loads(manifest.read_text(encoding="utf-8"))}
    if "MaterialIcons" not in families:
        raise ClientChanged(manifest.name, "the family MaterialIcons")
    ours = [
        {"asset": "fonts/sumpside-sans-400.woff2", "weight": 400},
        {"asset": "fonts/sumpside-sans-700.woff2", "weight": 700},
    ]
    entries = [
        {"family": "MaterialIcons", "fonts": [{"asset": "fonts/MaterialIcons-Regular.otf"}]},
        {"family": "Sumpside Sans", "fonts": ours},
        # Flutter fetches Roboto from its own servers unless the manifest has a font of that name.
        {"family": "Roboto", "fonts": ours},
    ]
    manifest.write_text(json.dumps(entries, indent=1), encoding="utf-8", newline="\n")
