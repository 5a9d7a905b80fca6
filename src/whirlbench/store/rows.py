"""Many rows at once."""

from sqlalchemy import insert

AT_ONCE = 2000  # rows that travel together


def inserted(session, table, rows):
    """Add rows.

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
    return session.scalars(insert(table).returning(table.id, sort_by_parameter_order=True), rows).all()
