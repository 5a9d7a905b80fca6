"""The languages of the page; a browser chooses, a person may choose otherwise."""

import functools
import gettext
import importlib.resources
import io

COOKIE = "language"
NAMES = {"en": "English", "es": "Español"}


@functools.cache
def translations(language):
    """Translations into a language, compiled from its catalogue when first asked for."""
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po

    place = importlib.resources.files("whirlbench.web") / "locale" / language / "LC_MESSAGES" / "whirlbench.po"
    if language not in NAMES or not place.is_file():
        return gettext.NullTranslations()
    compiled = io.BytesIO()
    with place.open("rb") as catalogue:
        write_mo(compiled, read_po(catalogue, locale=language))
    return gettext.GNUTranslations(io.BytesIO(compiled.getvalue()))


def chosen(request):
    """Language of a request: what the person chose, or else what the browser likes best of ours."""
    own = request.cookies.get(COOKIE)
    if own in NAMES:
        return own
    wanted = []
    for place, piece in enumerate(request.headers.get("accept-language", "").split(",")[:20]):
        name, _, weight = piece.partition(";q=")
        try:
            wanted.append((-float(weight or 1), place, name.strip().lower().partition("-")[0]))
        except ValueError:
            continue
    return next((name for *_, name in sorted(wanted) if name in NAMES), "en")
