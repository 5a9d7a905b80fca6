"""Time as the store writes it."""

from datetime import UTC, datetime


def now():
    """Time of this moment.

    Returns
    -------
    str
        UTC, ISO 8601 to the millisecond, such as ``2031-03-01T09:30:00.250Z``: equally long, so it sorts as text.
    """
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
