"""Many rows at once."""

from sqlalchemy import insert, text

AT_ONCE = 2000  # rows that travel together
_LAST = text("SELECT max(seq) FROM sqlite_sequence WHERE name = :name")
_NEXT = text("SELECT nextval(pg_get_serial_sequence(:name, 'id')) FROM generate_series(1, :count)")


def inserted(session, table, rows):
    """Add rows under numbers that are reserved first: asking for each row's number afterwards costs far more.

    Parameters
    ----------
    session : Session
        A writing transaction.
    table : type
        Class of the table.
    rows : sequence of dict
        Columns of each row, the same in all.

    Returns
    -------
    sequence of int
        Numbers of the new rows, in order.
    """
    if not rows:
        return []
    numbers = _reserved(session, table.__tablename__, len(rows))
    session.execute(insert(table.__table__), [{"id": number, **row} for number, row in zip(numbers, rows, strict=True)])
    return numbers


def _reserved(session, name, count):
    if session.bind.dialect.name == "sqlite":  # where the one writer has the database to itself
        last = session.scalar(_LAST, {"name": name}) or 0
        return range(last + 1, last + count + 1)
    return session.scalars(_NEXT, {"name": name, "count": count}).all()
