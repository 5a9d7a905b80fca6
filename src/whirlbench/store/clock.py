"""Time as the store writes it."""

from datetime import UTC, datetime


def now():
    """Time of this moment.

    Returns
    -------
    str
        As ``at`` writes it.
    """
    return at(datetime.now(UTC))


def at(moment):
    """Time of a moment.

    Parameters
    ----------
    moment : datetime
        With its time zone; without one it is taken for UTC.

    Returns
    -------
    str
        UTC, ISO 8601 to the millisecond, such as ``2031-03-01T09:30:00.250Z``: equally long, so it sorts as text.
    """
    moment = moment.astimezone(UTC) if moment.tzinfo else moment
    return moment.replace(tzinfo=None).isoformat(timespec="milliseconds") + "Z"
