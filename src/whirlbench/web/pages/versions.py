"""Versions of a turbine with the differences of each, and the way back to one."""

from urllib.parse import urlencode

from fastapi import APIRouter

from whirlbench.actions import keep as keeping
from whirlbench.actions.history import versions as history_of
from whirlbench.actions.kept_turbine import kept_turbine, restored
from whirlbench.errors import InputError
from whirlbench.web import people, render
from whirlbench.web.chosen import chosen

router = APIRouter()


@router.get("/teams/{team}/bench/versions")
def versions(visit: people.TeamVisit):
    """Every version of a turbine, the newest first."""
    found = chosen(visit)
    if found is None:
        return render.go(f"/teams/{visit.number}/bench")
    report = history_of(visit.store, visit.team, found.kept.turbine)
    return render.page(visit, "bench_versions.html", chosen=found, versions=report.versions[::-1])


@router.post("/teams/{team}/bench/back")
def back(visit: people.TeamVisit, form: people.Form):
    """Keep an older version again, as the newest."""
    name, number = str(form.get("turbine", "")), str(form.get("version", ""))
    if not (number.isascii() and number.isdigit() and len(number) < 10):
        raise InputError("version", f"'{number[:20]}'", "a number of a version", try_="choose one of the list")
    old = kept_turbine(visit.store, visit.team, name or None, int(number))
    if old is None:
        return render.go(f"/teams/{visit.number}/bench")
    keeping.keep(visit.store, visit.team, restored(old.text, old.files), author=visit.author)
    visit.request.app.state.hub.nudge()
    return render.go(f"/teams/{visit.number}/bench?{urlencode({'turbine': old.turbine})}")
