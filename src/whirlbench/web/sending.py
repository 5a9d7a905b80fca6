"""Files that a browser keeps under the name we give, and asks for again only when they changed."""

import re
import unicodedata

from starlette.responses import FileResponse, Response

from whirlbench import __version__


def safe_name(*pieces):
    """File name of plain letters, digits and hyphens, whatever the pieces hold."""
    plain = unicodedata.normalize("NFKD", "-".join(map(str, pieces))).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:80] or "whirlbench"


def tag_of(key):
    """ETag of an answer that depends on nothing but its key and this program."""
    return f'"{__version__}-{key[:24]}"'


def unchanged(request, tag):
    """Answer for a browser that has it already, or None."""
    known = request.headers.get("if-none-match", "")
    return Response(status_code=304, headers=_headers(tag)) if tag in known else None


def inline(content, *, media_type, tag):
    """Answer that is shown inside a page."""
    return Response(content, media_type=media_type, headers=_headers(tag))


def download(content, name, *, media_type, tag):
    """Answer that is kept as a file."""
    headers = _headers(tag) | {"content-disposition": f'attachment; filename="{name}"'}
    return Response(content, media_type=media_type, headers=headers)


def download_from(place, *, media_type):
    """Answer that is kept as a file, sent from the disk piece by piece."""
    return FileResponse(place, media_type=media_type, filename=place.name, headers={"cache-control": "no-store"})


def _headers(tag):
    return {"etag": tag, "cache-control": "private, no-cache"}
