"""Scripts, styles and pictures: a version in every address, and kept by the browser for good."""

import functools
import gzip
import hashlib
import importlib.metadata
import importlib.resources
import subprocess
import sys

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

_KINDS = {
    "css": "text/css",
    "js": "text/javascript",
    "svg": "image/svg+xml",
    "png": "image/png",
    "webmanifest": "application/manifest+json",
}
_FOR_GOOD = {"cache-control": "public, max-age=31536000, immutable", "vary": "accept-encoding"}
CHARTS = "charts.js"  # the chart library's browser bundle, made from the installed package
_PACKAGE = "vl-convert-python"


@functools.cache
def content(name):
    """Bytes of an asset, plain and zipped."""
    if name == CHARTS:
        plain = _bundle()
    else:
        place = _folder() / name
        if "/" in name or "\\" in name or name.startswith(".") or not place.is_file():
            raise KeyError(name)
        plain = place.read_bytes()
    return plain, gzip.compress(plain, 9, mtime=0)


@functools.cache
def version(name):
    """Version in an asset's address: one for all of ours, so that a script that imports another gets the page's own."""
    if name == CHARTS:  # equal packages make equal bundles, and no page waits until one is made
        return hashlib.sha256(importlib.metadata.version(_PACKAGE).encode()).hexdigest()[:12]
    ours = sorted((one.name, one.read_bytes()) for one in _folder().iterdir() if one.is_file())
    return hashlib.sha256(repr(ours).encode()).hexdigest()[:12]


def address(name):
    """Address of an asset as pages write it."""
    if name != CHARTS:
        content(name)  # a name that is no asset is our own slip, and is noticed here
    return f"/static/{version(name)}/{name}"


def answer(request: Request, asked: str, name: str):
    """Answer a browser that asks for an asset."""
    try:
        plain, zipped = content(name)
    except KeyError:
        raise HTTPException(404) from None
    headers = dict(_FOR_GOOD) if asked == version(name) else {"cache-control": "no-cache"}
    kind = _KINDS.get(name.rpartition(".")[2], "application/octet-stream")
    if "gzip" in request.headers.get("accept-encoding", ""):
        return Response(zipped, media_type=kind, headers=headers | {"content-encoding": "gzip"})
    return Response(plain, media_type=kind, headers=headers)


def _folder():
    return importlib.resources.files("whirlbench.web") / "static"


def _bundle():
    """Vega, Vega-Lite and their embedding, which put ``vegaEmbed`` on the window; made outside this process."""
    code = "import sys, vl_convert; sys.stdout.buffer.write(vl_convert.javascript_bundle().encode())"
    return subprocess.run([sys.executable, "-c", code], capture_output=True, check=True).stdout
