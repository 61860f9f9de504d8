"""The headers of every answer. Under them the browser itself refuses to load anything from, or send
anything to, another place."""

from __future__ import annotations

REFERRER = "same-origin"
"""What a browser says of the page it comes from: everything to us, nothing to another place. With
`no-referrer` it would send our own form with the origin `null` (Fetch standard, from memory), as a
sandboxed page of anybody does, and the two could not be told apart."""


def policies(host: str) -> dict[str, str]:
    """The headers of every answer under that name; under "" it is no name of ours."""
    return {
        "Content-Security-Policy": policy(host),
        "Cache-Control": "no-store",
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Referrer-Policy": REFERRER,
        "X-Content-Type-Options": "nosniff",
        "X-Frame-Options": "DENY",
    }


def policy(host: str) -> str:
    """The Content-Security-Policy for pages under that name: everything from here, nothing else.

    Styles may stand in the page, because the library's terminal writes its own; scripts may not.
    """
    sockets = f" ws://{host} wss://{host}" if host else ""
    return "; ".join(
        (
            "default-src 'none'",
            "script-src 'self'",
            "style-src 'self' 'unsafe-inline'",
            "font-src 'self'",
            "img-src 'self' data:",
            f"connect-src 'self'{sockets}",
            "form-action 'self'",
            "base-uri 'none'",
            "frame-ancestors 'none'",
        )
    )
