"""Composition root: what Flet runs in the browser worker and on the host."""

import flet as ft


def main(page: ft.Page) -> None:
    """Show the application on a page."""
    page.title = "Sumpside"
    page.add(ft.Text("Sumpside"), ft.FilledButton("Press", height=56))


if __name__ == "__main__":
    ft.run(main)
