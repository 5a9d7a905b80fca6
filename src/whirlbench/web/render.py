"""Pages from templates: escaped, translated, with addresses of assets that a browser may keep for good."""

import functools

import jinja2
from starlette.responses import HTMLResponse, RedirectResponse

from whirlbench import __version__
from whirlbench.web import assets, language, people, said, shown


@functools.cache
def _templates(chosen):
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("whirlbench.web"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        extensions=["jinja2.ext.i18n", "jinja2.ext.do"],
    )
    environment.install_gettext_translations(language.translations(chosen), newstyle=True)
    environment.globals |= {"asset": assets.address, "languages": language.NAMES, "version": __version__}
    environment.filters |= shown.FILTERS | {"said": functools.partial(said.say, chosen)}
    return environment


def page(visit_or_request, name, /, *, status=200, **context):
    """Answer with a template; it always knows the language, the person, the team and the mark of forms."""
    visit = visit_or_request if isinstance(visit_or_request, people.Visit) else None
    request = visit.request if visit else visit_or_request
    chosen = language.chosen(request)
    context = {
        "request": request,
        "language": chosen,
        "inches": shown.inches(request),
        "person": visit.person if visit else None,
        "team": visit.team if visit else None,
        "number": visit.number if visit else None,
        "mark": people.form_mark(request) if people.secret_of(request) else "",
        "here": request.url.path,
        **context,
    }
    return HTMLResponse(_templates(chosen).get_template(name).render(context), status)


def go(place):
    """Send a browser on after a change was made."""
    return RedirectResponse(place, 303)


def words(request):
    """Translator of short texts into the language of a request."""
    return language.translations(language.chosen(request)).gettext


def say(request, text):
    """Say a sentence that the program made in the language of a request."""
    return said.say(language.chosen(request), text)
