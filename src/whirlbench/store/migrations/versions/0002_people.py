"""What the page for the room needs: PINs, who is signed in, and what the room is set to."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade():
    """Add them."""
    op.add_column("team", sa.Column("pin", sa.Text))
    op.create_table(
        "setting",
        sa.Column("id", ID),
        _text("name"),
        sa.Column("value", sa.JSON, nullable=False),
        sa.UniqueConstraint("name", name="setting_name_key"),
        sa.PrimaryKeyConstraint("id", name="setting_pkey"),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "sign_in",
        sa.Column("id", ID),
        _text("mark"),
        sa.Column("team_id", ID),
        _text("name"),
        _text("at"),
        sa.ForeignKeyConstraint(["team_id"], ["team.id"], name="sign_in_team_id_fkey", ondelete="CASCADE"),
        sa.UniqueConstraint("mark", name="sign_in_mark_key"),
        sa.PrimaryKeyConstraint("id", name="sign_in_pkey"),
        sqlite_autoincrement=True,
    )
    op.create_index("sign_in_team_id_idx", "sign_in", ["team_id"])


def _text(name):
    return sa.Column(name, sa.Text, nullable=False)
