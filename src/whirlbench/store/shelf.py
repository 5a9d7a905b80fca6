"""What the room has for all teams, events and parts bins, with every version that was saved."""

from dataclasses import dataclass

from whirlbench.parts import plain, written
from whirlbench.parts.bin import PartsBin
from whirlbench.parts.event import Event
from whirlbench.store import documents


@dataclass(frozen=True)
class Shelf:
    """Documents of one kind that belong to the room.

    Attributes
    ----------
    kind : str
        As the store calls it; its file is this with ``.toml``.
    model : type
        Part that a document describes.
    """

    kind: str
    model: type

    def keep(self, session, name, part, *, text="", author=""):
        """Save a part.

        Parameters
        ----------
        session : Session
            A writing transaction.
        name : str
            What the room calls it.
        part : Part
            Of the shelf's model.
        text : str
            The TOML text that it was read from, with its comments.
        author : str
            First name, or empty.

        Returns
        -------
        Saved
            The version that holds now.
        """
        files = {self._file: text} if text else {}
        content = plain.text_of(part)
        return documents.save(session, None, self.kind, name, content=content, files=files, author=author)[1]

    def load(self, session, name):
        """Part as it is now.

        Parameters
        ----------
        session : Session
            A transaction.
        name : str
            What the room calls it.

        Returns
        -------
        Part
            Of the shelf's model.

        Raises
        ------
        UnknownKey
            Nothing of that name.
        """
        return self._part(documents.newest(session, None, self.kind, name))

    def text(self, session, name):
        """TOML text of a part.

        Parameters
        ----------
        session : Session
            A transaction.
        name : str
            What the room calls it.

        Returns
        -------
        str
            As it was written, or made from the part where no text was kept.

        Raises
        ------
        UnknownKey
            Nothing of that name.
        """
        saved = documents.newest(session, None, self.kind, name)
        return saved.files.get(self._file) or written.text_of(self._part(saved))

    @property
    def _file(self):
        return f"{self.kind}.toml"

    def _part(self, saved):
        return plain.part_of(self.model, saved.content)


EVENTS, BINS = Shelf("event", Event), Shelf("bin", PartsBin)
