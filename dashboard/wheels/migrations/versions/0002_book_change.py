"""which wheels were read anew, in order"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "book_change",
        sa.Column("seq", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("mark", sa.String(length=36), nullable=False),
        sa.Column("wheel_id", sa.String(length=36), nullable=True),
        sa.PrimaryKeyConstraint("seq"),
        sqlite_autoincrement=True,
    )
