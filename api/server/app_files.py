"""How long browsers may keep the files of the built app."""

import re
from collections.abc import MutableMapping

# Vite puts a hash of the content in the names of all files but those at the top.
HASHED_FILE = r"^/assets/.+-[\w-]{8}\.\w+$"


def add_headers(headers: MutableMapping[str, str], path: str, url: str) -> None:
    """Have all but hashed files asked for anew, so that an update is noticed at once."""
    del path  # where the file lies is no business of the browser's
    if re.search(HASHED_FILE, url) is None:
        headers["Cache-Control"] = "no-cache"
