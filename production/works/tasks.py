"""Background work of the floor: drawing job cards."""

from celery import shared_task


@shared_task(name="production.works.tasks.draw_cards")  # type: ignore[untyped-decorator]
def draw_cards(paper_id: int) -> None:
    # Imported here because it loads the typesetter, which the web process must not.
    from production.works.papers.making import make_paper

    make_paper(paper_id)
