"""The plan of a job on paper: its steps with boxes to tick and squares for numbers, for hands that touch no screen."""

from __future__ import annotations

from twoturn.acts.plan import sheet_of_text
from twoturn.acts.shop.drives import drive_of
from twoturn.acts.shop.job_view import job_view
from twoturn.acts.shop.papers import Paper
from twoturn.acts.shop.shop import Shop


def plan_paper(shop: Shop, job_id: int) -> Paper:
    """The plan of a job as PDF, for its vehicle and in the version of the drive that the job keeps.

    Raises
    ------
    NotFound
        There is no such job.
    SheetError
        It cannot be typeset.
    """
    view = job_view(shop, job_id)
    text = drive_of(shop, view.head.version_id).version.text
    made = sheet_of_text(view.plan, text, view.head.drive_name, shop.now())
    return Paper(f"plan-job-{view.head.number}.pdf", "application/pdf", made)
