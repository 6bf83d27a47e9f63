"""How long browsers may keep the files of the built app."""

from collections.abc import MutableMapping

# Vite puts a hash of the content in the names of all files but those at the top.
HASHED_FILE = r"^/assets/.+-[\w-]{8}\.\w+$"
_ASK_EACH_TIME = ("/", "/index.html", "/sw.js", "/manifest.webmanifest")


def add_headers(headers: MutableMapping[str, str], path: str, url: str) -> None:
    """Have the page and the service worker asked for anew, so that an update is noticed."""
    del path  # where the file lies is no business of the browser's
    if url in _ASK_EACH_TIME:
        headers["Cache-Control"] = "no-cache"
