"""What lies on a team's workbench: the kept turbine, what somebody types over it, and what that would be."""

from dataclasses import dataclass, field
from urllib.parse import urlencode

from whirlbench.errors import InputError, InputErrors
from whirlbench.parts import edit, fields, plain
from whirlbench.parts.turbine import Turbine
from whirlbench.web.chosen import Chosen, chosen

_MOST_FIELDS, _LONGEST = 300, 300


@dataclass(frozen=True)
class Change:
    """A field that stands otherwise than in the kept turbine."""

    path: str
    label: str
    group: str
    before: str
    after: str


@dataclass(frozen=True)
class Desk:
    """The bench of one request.

    Attributes
    ----------
    chosen : Chosen
        The kept turbine.
    kept, turbine : Turbine
        As it was kept, and as it is typed; the kept one again where what is typed cannot be.
    typed : dict of str to str
        Texts that are not what the kept turbine shows.
    wrong : dict of str to list of str
        Errors by the path of their field; those of no field stand under an empty path.
    """

    chosen: Chosen
    kept: Turbine
    turbine: Turbine
    typed: dict = field(default_factory=dict)
    wrong: dict = field(default_factory=dict)

    @property
    def plain(self):
        """What a worker is given."""
        return [plain.text_of(self.turbine), self.chosen.kept.files]

    @property
    def kept_plain(self):
        """The kept turbine for a worker."""
        return self.chosen.plain

    @property
    def query(self):
        """What is typed as a query of an address."""
        return urlencode({"turbine": self.kept.name, **self.typed})

    def groups(self, *, inches):
        """Fields by part group: those that people turn first, and the rest."""
        found = {group: ([], []) for group in fields.GROUPS}
        for each in fields.fields(self.turbine, inches=inches):
            found[each.group][not each.first].append(each)
        return found

    def kept_texts(self, *, inches):
        """What the fields of the kept turbine show."""
        return {each.path: each.text for each in fields.fields(self.kept, inches=inches)}

    def changes(self, *, inches):
        """What differs from the kept turbine, field by field."""
        before = {each.path: each for each in fields.fields(self.kept, inches=inches)}
        after = {each.path: each for each in fields.fields(self.turbine, inches=inches)}
        return tuple(
            Change(path, one.label, one.group, before[path].text if path in before else "", one.text)
            for path, one in after.items()
            if (before[path].text != one.text if path in before else one.first)
        )


def desk_of(visit, texts):
    """Bench of a visit with what is typed on it, or None where the team has kept no turbine."""
    found = chosen(visit)
    if found is None:
        return None
    kept = plain.part_of(Turbine, found.kept.text)
    texts = {path: str(text)[:_LONGEST] for path, text in texts.items() if "." in path and "file" not in path}
    typed = fields.new_texts(kept, dict(list(texts.items())[:_MOST_FIELDS]))
    wrong = {}
    try:
        return Desk(found, kept, edit.changed(kept, typed) if typed else kept, typed)
    except InputErrors as errors:
        for one in errors.errors:
            wrong.setdefault(_place(one, kept), []).append(str(one))
    return Desk(found, kept, kept, typed, wrong)


def wrong_of(error, turbine):
    """Errors that arose when a turbine was computed, by the path of their field."""
    found = error.errors if isinstance(error, InputErrors) else (error,)
    wrong = {}
    for one in found:
        wrong.setdefault(_place(one, turbine) if isinstance(one, InputError) else "", []).append(str(one))
    return wrong


def _place(error, turbine):
    """Path of the field that an error stands under: the nearest that the page shows."""
    path = edit.path_of(error).replace(" ", "_")
    known = {each.path for each in fields.fields(turbine)}
    return path if path in known else ""
