"""The desktop stand-in of the page keeps the contract of `Host`."""

from mobile.host import DesktopHost, Host


async def test_desktop_host_answers_for_storage_and_updates() -> None:
    host: Host = DesktopHost()
    assert await host.request_persistence() is None
    assert await host.persisted() is None
    assert await host.storage_estimate() is None
    assert await host.apply_update() is False
    assert (host.kind, host.base_url, host.hour12()) == ("desktop", "/", False)


async def test_desktop_host_keeps_what_it_was_told() -> None:
    host = DesktopHost(locale="de-DE", hour12=True)
    seen: list[str] = []
    host.on_visible(lambda: seen.append("visible"))
    host.on_update_ready(lambda: seen.append("update"))
    await host.publish_figures({"format": "sumpside-figures"})
    host.set_busy(True)
    host.open_emergency()
    host.show()
    assert host.figures == {"format": "sumpside-figures"}
    assert (host.busy, host.emergency_opened, seen) == (True, 1, ["visible"])
    assert (host.locale, host.hour12()) == ("de-DE", True)
