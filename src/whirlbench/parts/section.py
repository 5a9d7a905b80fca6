"""The cross-section of a blade: a sheet, an airfoil by name or digits, or the user's own polar table."""

from typing import Annotated, Literal

from pydantic import Field

from whirlbench.parts.part import Fraction, Length, Part


class Sheet(Part):
    """Flat or bent sheet.

    Attributes
    ----------
    material : str
        Name in the table of densities.
    thickness : float
        [m].
    camber : float
        Depth of the bend over the chord, 0 for a flat sheet [-].
    edge : str
        ``square``, ``rounded``, ``mixed`` or ``unknown``.
    """

    kind: Literal["sheet"] = "sheet"
    material: str = "grey board"
    thickness: Length
    camber: Annotated[Fraction, Field(le=0.12)] = 0.0
    edge: Literal["square", "rounded", "mixed", "unknown"] = "unknown"


class Airfoil(Part):
    """A catalogue section or one of the 4-digit family, solid or hollow.

    Attributes
    ----------
    name : str
        Name in the shipped catalogue, or four digits such as ``4412``.
    material : str
        ``balsa``, ``basswood``, ``PLA``, ``EPS foam``, ``XPS foam``...
    fill : float
        Share of the section's volume that is solid, 0 to 1. Of a print it is walls and infill together, not the
        slicer's infill alone: two walls and 20 % infill fill a blade 4 mm thick to about 60 %.
    """

    kind: Literal["airfoil"] = "airfoil"
    name: str
    material: str = "PLA"
    fill: Fraction = 1.0

    @property
    def four_digits(self):
        """Whether the name is that of a 4-digit section."""
        return len(self.name) == 4 and self.name.isdigit()


class OwnPolar(Part):
    """The user's own polar table beside a plain description of the section.

    Attributes
    ----------
    file : str
        CSV file with the columns alpha_deg, re, cl, cd; relative to the turbine file.
    material : str
        As for an airfoil.
    thickness_ratio : float
        Thickness over chord [-].
    fill : float
        As for an airfoil.
    """

    kind: Literal["own polar"] = "own polar"
    file: str
    material: str = "PLA"
    thickness_ratio: Fraction = 0.1
    fill: Fraction = 1.0


Section = Annotated[Sheet | Airfoil | OwnPolar, Field(discriminator="kind")]
