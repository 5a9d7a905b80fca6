"""Charts as files, drawn without a browser."""

from pathlib import Path

from whirlbench.errors import InputError

ENDINGS = (".svg", ".png", ".pdf")


def save(description, path):
    """Write a chart to a file and return where it went.

    Parameters
    ----------
    description : dict
        Vega-Lite, as every function of ``charts`` gives it.
    path : str or Path
        The ending says the kind: .svg, .png (twice the size, for sharp print) or .pdf.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        Another ending, or a place that cannot be written.
    """
    path = Path(path)
    ending = path.suffix.lower()
    if ending not in ENDINGS:
        raise InputError("plot file", f"'{path.name}'", "an ending " + ", ".join(ENDINGS), try_="name it chart.png")
    content = _drawn(description, ending)
    try:
        path.write_bytes(content)
    except OSError as error:
        reason = (error.strerror or "no reason").lower()
        raise InputError(
            "plot file",
            f"'{path}' ({reason})",
            "a place that can be written",
            try_="make the folder first, or name a file in a folder of your own",
        ) from error
    return path


def _drawn(description, ending):
    import vl_convert  # 0.1 s and 40 MB: only for those who want a file

    if ending == ".svg":
        return vl_convert.vegalite_to_svg(description, allowed_base_urls=[]).encode()
    if ending == ".png":
        return vl_convert.vegalite_to_png(description, scale=2, allowed_base_urls=[])
    return vl_convert.vegalite_to_pdf(description, allowed_base_urls=[])
