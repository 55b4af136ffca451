"""How a component gets at the store."""

from typing import TYPE_CHECKING, Any

import flet as ft

if TYPE_CHECKING:
    from mobile.store import Store

StoreContext: Any = ft.create_context(None)


def use_store() -> "Store":
    """Return the store; the calling component renders again whenever its snapshot is replaced."""
    return ft.use_context(StoreContext)
