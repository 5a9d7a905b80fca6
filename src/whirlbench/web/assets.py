"""Scripts, styles and pictures: a version in every address, and kept by the browser for good."""

import functools
import gzip
import hashlib
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


@functools.cache
def content(name):
    """Bytes of an asset, plain and zipped, and the version in its address."""
    if name == CHARTS:
        plain = _bundle()
    else:
        place = importlib.resources.files("whirlbench.web") / "static" / name
        if "/" in name or "\\" in name or name.startswith(".") or not place.is_file():
            raise KeyError(name)
        plain = place.read_bytes()
    return plain, gzip.compress(plain, 9, mtime=0), hashlib.sha256(plain).hexdigest()[:12]


def address(name):
    """Address of an asset as pages write it."""
    return f"/static/{content(name)[2]}/{name}"


def answer(request: Request, version: str, name: str):
    """Answer a browser that asks for an asset."""
    try:
        plain, zipped, now = content(name)
    except KeyError:
        raise HTTPException(404) from None
    headers = dict(_FOR_GOOD) if version == now else {"cache-control": "no-cache"}
    kind = _KINDS.get(name.rpartition(".")[2], "application/octet-stream")
    if "gzip" in request.headers.get("accept-encoding", ""):
        return Response(zipped, media_type=kind, headers=headers | {"content-encoding": "gzip"})
    return Response(plain, media_type=kind, headers=headers)


def _bundle():
    """Vega, Vega-Lite and their embedding, which put ``vegaEmbed`` on the window; made outside this process."""
    code = "import sys, vl_convert; sys.stdout.buffer.write(vl_convert.javascript_bundle().encode())"
    return subprocess.run([sys.executable, "-c", code], capture_output=True, check=True).stdout
