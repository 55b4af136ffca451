"""Names of what this site keeps on the device; without JavaScript, for the host.

Several sites can share one origin. A site at "/" keeps the plain names, which every site had
before; any other adds its base. `mobile/web/names.js` gives the same names (a test holds them
together).
"""

from typing import Final

SHARED: Final = "/"
"""The base whose names every site had before."""


def own_name(name: str, base: str) -> str:
    """Return a name of this site's own: "records" below "/one/two/" is "records@one~two".

    Parameters
    ----------
    name : str
        What is named; a number belongs here ("records-2"), so that "/one-2/" is another site.
    base : str
        Path below which the site is served, percent-encoded as the browser gives it.
    """
    path = base.strip("/")
    return f"{name}@{path.replace('~', '%7E').replace('/', '~')}" if path else name
