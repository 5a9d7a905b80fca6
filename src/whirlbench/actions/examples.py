"""Copy the example files to a folder of the user's own."""

from importlib import resources
from pathlib import Path

from whirlbench.errors import InputError


def examples(folder):
    """Copy the examples of the Gullwick Harbour Turbine Trials to a folder.

    Parameters
    ----------
    folder : path
        Made if missing; a file that is already there is never overwritten.

    Returns
    -------
    list of Path
        The files, in order of name.

    Raises
    ------
    InputError
        A folder that cannot be written, or a file that is already there.
    """
    folder = Path(folder)
    source = resources.files("whirlbench") / "examples"
    names = sorted(entry.name for entry in source.iterdir() if entry.name.endswith((".toml", ".csv")))
    there = [name for name in names if (folder / name).exists()]
    if there:
        raise InputError("folder", f"'{there[0]}' already there", "a folder without it", try_="name a new folder")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name in names:
            (folder / name).write_bytes((source / name).read_bytes())
    except OSError as error:
        needs = "a folder that can be written"
        raise InputError("folder", f"'{folder}' ({error.strerror})", needs, try_="a folder of your own") from None
    return [folder / name for name in names]
