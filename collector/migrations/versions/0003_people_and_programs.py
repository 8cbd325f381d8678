"""people and programs: what was changed about people, tokens of programs, messages handed in over HTTP"""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "person_change",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("person_id", sa.String(length=36), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("what", sa.String(length=20), nullable=False),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"]),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("person_change_at", "person_change", ["at"])
    op.create_table(
        "api_token",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("scopes", sa.JSON(), nullable=False),
        sa.Column("probe", sa.String(length=200), nullable=True),
        sa.Column("made_at", sa.BigInteger(), nullable=False),
        sa.Column("made_by", sa.String(length=80), nullable=False),
        sa.Column("last_used_at", sa.BigInteger(), nullable=True),
        sa.Column("ended_at", sa.BigInteger(), nullable=True),
        sa.Column("ended_by", sa.String(length=80), nullable=False),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("token_hash"),
    )
    op.create_table(
        "handed_message",
        sa.Column("seq", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("topic", sa.String(length=400), nullable=False),
        sa.Column("payload", sa.LargeBinary(), nullable=False),
        sa.Column("received_at", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("seq"),
        sqlite_autoincrement=True,
    )
