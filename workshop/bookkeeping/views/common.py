"""What every page of the books asks."""

ROLES = ("owner", "bookkeeper")


def download(name: str) -> dict[str, str]:
    """The headers of a file that is saved and never shown."""
    return {
        "Cache-Control": "private, no-store",
        "Content-Disposition": f'attachment; filename="{name}"',
        "Content-Security-Policy": "default-src 'none'; sandbox",
        "X-Content-Type-Options": "nosniff",
    }
