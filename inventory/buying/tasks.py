"""Background work of buying: drawing order papers."""

from celery import shared_task


@shared_task(name="inventory.buying.tasks.draw_paper")  # type: ignore[untyped-decorator]
def draw_paper(paper_id: int) -> None:
    # Imported here because it loads the typesetter, which the web process must not.
    from inventory.buying.papers.making import make_paper

    make_paper(paper_id)
