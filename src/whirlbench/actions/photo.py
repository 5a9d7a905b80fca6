"""Make a photo that anybody may send into one that is safe to keep: small, upright, and without anything said in it."""

import contextlib
import io
import warnings
from pathlib import Path

from PIL import Image, ImageOps

from whirlbench.errors import InputError
from whirlbench.store.notes import MOST_BYTES, MOST_PIXELS

_MOST = {"JPEG": 50_000_000, "PNG": 25_000_000, "WEBP": 25_000_000}  # pixels; a JPEG is made smaller while it is read
_QUALITIES = (82, 70, 55, 40)
_TRY = "take the photo again, or send it as JPEG, PNG or WebP"


def kept_photo(place):
    """Photo as it is kept.

    Parameters
    ----------
    place : str
        File that holds what was sent.

    Returns
    -------
    bytes
        JPEG of at most 1600 pixels each way, turned upright, without place, time, camera or any other words in it.

    Raises
    ------
    InputError
        No picture, one of another kind, or one that unpacks to too much.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what is odd about a file is told by refusing it, or does not matter
            return _small(Path(place).read_bytes())
    except InputError:
        raise
    except Image.DecompressionBombError:
        got, needs = "hundreds of million pixels", "as many as a camera takes"
        raise InputError("photo", got, needs, try_="make the photo smaller") from None
    except Exception:  # a damaged picture may break its reader in any way
        raise InputError("photo", "a file that is no picture", "a JPEG, PNG or WebP photo", try_=_TRY) from None


def _small(content):
    with Image.open(io.BytesIO(content), formats=tuple(_MOST)) as image:
        pixels, most = (
            image.width * image.height,
            _MOST.get(image.format, _MOST["JPEG"]),
        )  # two JPEGs in one are a third
        if pixels > most:
            needs = f"at most {most // 1_000_000} million"
            raise InputError("photo", f"{pixels / 1e6:.0f} million pixels", needs, try_="make the photo smaller")
        image.draft("RGB", (MOST_PIXELS, MOST_PIXELS))
        image.thumbnail((MOST_PIXELS, MOST_PIXELS))
        return _written(_on_white(_upright(image)))


def _upright(image):
    with contextlib.suppress(Exception):  # notes of a camera that cannot be read turn nothing
        return ImageOps.exif_transpose(image)
    return image


def _on_white(image):
    """The pixels alone, in a picture that never held anything else."""
    clean = Image.new("RGB", image.size, "white")
    clear = image.convert("RGBA") if image.mode in ("P", "PA", "LA", "RGBA", "La", "RGBa") else None
    clean.paste(clear or image.convert("RGB"), mask=clear)
    return clean


def _written(image):
    for quality in _QUALITIES:
        file = io.BytesIO()
        image.save(file, "JPEG", quality=quality)
        if file.tell() <= MOST_BYTES:
            break
    return file.getvalue()
