"""Plans of a team: kept, shown with what is done, and the readings that were taken for them."""

from dataclasses import replace

from pydantic import ValidationError

from whirlbench.actions.report import Report
from whirlbench.errors import InputError, InputErrors
from whirlbench.measure.plan import Plan
from whirlbench.store import documents, plans, teams


class KeptPlan(Report):
    """A plan of a team; ``done`` holds the numbers of the runs that have a reading."""

    team: str
    name: str
    version: int
    author: str
    new: bool
    plan: Plan
    done: tuple[int, ...]


class PlanLine(Report):
    """One plan of a team in short."""

    name: str
    version: int
    at: str
    author: str
    title: str
    runs: int
    done: int


class PlansReport(Report):
    """Plans of a team."""

    team: str
    plans: tuple[PlanLine, ...]


def keep(store, team, name, plan, *, author=""):
    """Keep a plan with a team; the same plan again makes no new version.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    name : str
        What the team calls it.
    plan : Plan
        As ``measure.design`` makes it.
    author : str
        First name, or empty.

    Returns
    -------
    KeptPlan
        The plan as it is kept.

    Raises
    ------
    InputError
        No such team, or another plan of this name that has readings already.
    """
    with store.writing() as session:
        whose = teams.get(session, team)
        known = {line.name: line for line in documents.every(session, whose, plans.KIND)}
        before = known.get(name)
        if before and _done(session, whose, name) and _plan(session, whose, name) != plan:
            got, needs = f"'{name}', which has readings already", "a name of its own for another plan"
            raise InputError("plan", got, needs, try_=f"--name '{name} 2'")
        plans.keep(session, whose, name, plan=plan.model_dump(mode="json"), author=author)
        kept = _kept(session, whose, name)
    return kept.model_copy(update={"new": before is None or before.number != kept.version})


def kept(store, team, name):
    """Plan as it was kept, with what is done of it.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    name : str
        Of the plan.

    Returns
    -------
    KeptPlan
        The plan.

    Raises
    ------
    InputError
        No such team or plan.
    """
    with store.looking() as session:
        return _kept(session, teams.get(session, team), name)


def listed(store, team):
    """Plans of a team.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        The team.

    Returns
    -------
    PlansReport
        By name.

    Raises
    ------
    InputError
        No such team.
    """
    with store.looking() as session:
        whose = teams.get(session, team)
        lines = [_plan_line(session, whose, saved) for saved in documents.every(session, whose, plans.KIND)]
    return PlansReport(team=whose.name, plans=tuple(lines))


def readings_of(store, team, name):
    """Readings that were taken for a plan, ready to be compared.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    name : str
        Of the plan.

    Returns
    -------
    tuple of Reading
        In the order of the plan's runs.

    Raises
    ------
    InputError
        No such team or plan, or none of its runs done.
    """
    with store.looking() as session:
        whose = teams.get(session, team)
        found = tuple(entry.reading for entry in plans.record(session, whose, name))
    if not found:
        try_ = f"whirlbench log READINGS --team '{whose.name}' --plan '{name}'"
        raise InputError("plan", f"'{name}' without a reading", "runs that are done and logged", try_=try_)
    return found


def placed(session, team, name, rows):
    """Readings with their places in a plan, by the number in their column ``run``.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team
        Whose they are.
    name : str
        Of the plan.
    rows : sequence of Reading
        What was read; a block or build that was not written is taken from the plan.

    Returns
    -------
    tuple of (int, list of Reading, list of int)
        Number of the plan in the store, the readings, and the run of each.

    Raises
    ------
    InputErrors
        Readings that name no run of the plan.
    """
    plan, saved = _plan(session, team, name), documents.newest(session, team, plans.KIND, name)
    runs = {str(run.number): run for run in plan.runs}
    strangers = [row for row in rows if row.run not in runs]
    if strangers:
        needs, try_ = f"a run of the plan '{saved.name}', 1 to {len(runs)}", "fill in the file that plan --csv wrote"
        raise InputErrors([InputError(f"line {row.row} > run", f"'{row.run}'", needs, try_=try_) for row in strangers])
    found = [(row, runs[row.run]) for row in rows]
    told = [
        replace(row, build=row.build or plan.build_of(run), block=row.block or plan.block_of(run)) for row, run in found
    ]
    return saved.document_id, told, [run.number for _, run in found]


def _kept(session, team, name):
    saved = documents.newest(session, team, plans.KIND, name)
    return KeptPlan(
        team=team.name,
        name=saved.name,
        version=saved.number,
        author=saved.author,
        new=False,
        plan=_plan(session, team, name),
        done=_done(session, team, name),
    )


def _plan_line(session, team, saved):
    plan = _plan(session, team, saved.name)
    return PlanLine(
        name=saved.name,
        version=saved.number,
        at=saved.at,
        author=saved.author,
        title=plan.title,
        runs=len(plan.runs),
        done=len(_done(session, team, saved.name)),
    )


def _plan(session, team, name):
    try:
        return Plan.model_validate(plans.load(session, team, name))
    except ValidationError:
        needs = "a plan that this program can read"
        raise InputError("plan", f"'{name}' of another program", needs, try_="update Whirlbench") from None


def _done(session, team, name):
    rows = {entry.plan_row for entry in plans.record(session, team, name)}
    return tuple(sorted(rows - {None}))
