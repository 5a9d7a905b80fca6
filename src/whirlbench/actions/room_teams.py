"""What the coach does about one team: look, rename, sign out, delete."""

from whirlbench.actions.report import Report
from whirlbench.errors import InputError, UnknownKey
from whirlbench.store import names, readings, sign_ins, teams, turbines


class SignInLine(Report):
    """A browser or logger that is signed in."""

    number: int
    name: str
    at: str


class RoomTeam(Report):
    """A team as the coach sees it."""

    number: int
    team: str
    created_at: str
    has_pin: bool
    turbines: tuple[str, ...]
    readings: int
    sign_ins: tuple[SignInLine, ...]


def team(store, number):
    """A team with what it keeps and who is signed in for it."""
    with store.looking() as session:
        found = teams.numbered(session, number)
        people = [SignInLine(number=one.id, name=one.name, at=one.at) for one in sign_ins.every(session, found)]
        return RoomTeam(
            number=found.id,
            team=found.name,
            created_at=found.created_at,
            has_pin=found.pin is not None,
            turbines=tuple(one.turbine.name for one in turbines.every(session, found)),
            readings=readings.count(session, found),
            sign_ins=tuple(people),
        )


def rename(store, number, name):
    """Give a team another name; everything it saved stays its own."""
    with store.writing() as session:
        teams.rename(session, teams.numbered(session, number), name)


def sign_out(store, number, *, person=None):
    """End one sign-in of a team, or all."""
    with store.writing() as session:
        found = teams.numbered(session, number)
        if person is None:
            sign_ins.end_all(session, found)
            return
        if person not in {one.id for one in sign_ins.every(session, found)}:
            raise UnknownKey("sign-in", str(person), "one of this team", try_="look at the list again")
        sign_ins.end(session, person)


def remove(store, number, *, typed):
    """Delete a team with everything it ever saved, where its name was typed."""
    with store.writing() as session:
        found = teams.numbered(session, number)
        if names.key(" ".join(typed.split())) != names.key(found.name):
            got = f"'{typed[:80]}'" if typed.strip() else "nothing"
            raise InputError("name of the team", got, f"'{found.name}'", try_="type its name to say that you mean it")
        teams.remove(session, found)
