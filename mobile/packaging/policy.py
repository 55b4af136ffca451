"""The Content-Security-Policy of the page, in the page itself and in headers."""

_DIRECTIVES = {
    "default-src": "'none'",
    "script-src": "'self' 'wasm-unsafe-eval'",
    "worker-src": "'self'",
    "connect-src": "'self'",
    "img-src": "'self' data: blob:",
    "font-src": "'self' data:",
    "style-src": "'self' 'unsafe-inline'",  # Flutter writes its own style elements
    "manifest-src": "'self'",
    "frame-src": "'self'",  # the emergency card over the running app
    "base-uri": "'self'",
    "form-action": "'none'",
}
# Ignored, and reported as an error, in a meta element.
_HEADER_ONLY = {"frame-ancestors": "'self'"}


def content_security_policy(*, in_page: bool = False) -> str:
    """Return the policy as text: for a header, or for a meta element when `in_page`."""
    directives = _DIRECTIVES if in_page else _DIRECTIVES | _HEADER_ONLY
    return "; ".join(f"{name} {sources}" for name, sources in directives.items())
