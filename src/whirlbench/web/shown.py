"""Numbers as a page shows them: the unit that fits, metric or inches as the person chose."""

import re

from whirlbench import units
from whirlbench.web.said import SENTENCE_END

COOKIE = "units"


def inches(request):
    """Whether the person reads lengths in inches."""
    return request.cookies.get(COOKIE) == "inch"


def watts(power):
    """Power with the unit that fits."""
    size = abs(power)
    if size < 0.9995e-3:
        return f"{power * 1e6:.3g} µW"
    return f"{power * 1e3:.3g} mW" if size < 0.9995 else f"{power:.3g} W"


def signed_watts(power):
    """Gain or loss with its sign."""
    return ("+" if power >= 0 else "−") + watts(abs(power))


def percent(share):
    """Share in whole percent."""
    return f"{100 * share:.0f} %"


def number(value, digits=3):
    """Number with so many digits that count."""
    return f"{value:.{digits}g}"


def sentences(text):
    """Sentences of a text, one by one."""
    return re.split(SENTENCE_END, text)


def moment(at):
    """UTC moment as an element that the page's script turns into the reader's own time."""
    from markupsafe import Markup, escape

    plain = at.replace("T", " ").partition(".")[0]
    return Markup('<time datetime="{0}">{1} UTC</time>').format(escape(at), escape(plain))


FILTERS = {
    "watts": watts,
    "signed_watts": signed_watts,
    "sentences": sentences,
    "percent": percent,
    "number": number,
    "moment": moment,
    "shown": units.show,
    "length": units.length,
}
