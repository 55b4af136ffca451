"""Render the PNG icons from mark.svg with Chromium: run by hand (dev extra)."""

from playwright.sync_api import sync_playwright

from mobile.packaging.build import ROOT

ICONS = ROOT / "assets" / "icons"
# name -> (pixels, share of the canvas that the drawing fills, rounded ground)
SIZES = {
    "icon-192.png": (192, 1.0, True),
    "icon-512.png": (512, 1.0, True),
    # A mask may cut away all but the inner 80 %.
    "maskable-192.png": (192, 0.8, False),
    "maskable-512.png": (512, 0.8, False),
    "apple-touch-icon.png": (180, 0.9, False),
    "favicon.png": (48, 1.0, True),
}


def main() -> None:
    """Write every PNG into assets/icons."""
    mark = (ICONS / "mark.svg").read_text(encoding="utf-8")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path="/usr/bin/chromium", args=["--no-sandbox"]
        )
        for name, (pixels, share, rounded) in SIZES.items():
            page = browser.new_page(viewport={"width": pixels, "height": pixels})
            inset = pixels * (1 - share) / 2
            svg = mark if rounded else mark.replace('rx="104"', 'rx="0"')
            ground = "transparent" if rounded else "#0b5563"
            page.set_content(
                f"<body style='margin:0;background:{ground}'>"
                f"<div style='padding:{inset}px;width:{pixels * share}px'>{svg}</div>"
            )
            page.screenshot(path=ICONS / name, omit_background=rounded)
            page.close()
        browser.close()


if __name__ == "__main__":
    main()
