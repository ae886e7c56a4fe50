"""The first logbook: entries, tags and compressed logs."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Create the tables."""
    op.create_table(
        "logbook_entries",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("sha256", sa.String(64), nullable=False, unique=True),
        sa.Column("log_name", sa.Text, nullable=False),
        sa.Column("added_at", sa.String(32), nullable=False),
        sa.Column("started_at", sa.String(40)),
        sa.Column("log_place", sa.Text, nullable=False),
        sa.Column("motor_runs", sa.Integer, nullable=False),
        sa.Column("totals", sa.Text, nullable=False),
        sa.Column("summary", sa.Text, nullable=False),
        sa.Column("analyzer_version", sa.String(40), nullable=False),
        sa.Column("analysed_at", sa.String(32), nullable=False),
        sa.Column("setup", sa.Text),
        sa.Column("coefficients", sa.Text),
        sa.Column("column_map", sa.Text),
        sa.Column("segmentation", sa.Text),
        sa.Column("propeller", sa.Text, nullable=False, server_default=""),
        sa.Column("place", sa.Text, nullable=False, server_default=""),
        sa.Column("day", sa.String(10), nullable=False, server_default=""),
        sa.Column("note", sa.Text, nullable=False, server_default=""),
    )
    op.create_table(
        "logbook_tags",
        sa.Column("entry_id", sa.Integer, sa.ForeignKey("logbook_entries.id", ondelete="CASCADE"), primary_key=True),
        sa.Column("key", sa.String(100), primary_key=True),
        sa.Column("value", sa.Text, nullable=False),
    )
    op.create_table(
        "logbook_files",
        sa.Column("entry_id", sa.Integer, sa.ForeignKey("logbook_entries.id", ondelete="CASCADE"), primary_key=True),
        sa.Column("encoding", sa.String(10), nullable=False),
        sa.Column("size", sa.Integer, nullable=False),
        sa.Column("content", sa.LargeBinary, nullable=False),
    )
