"""Background work of coating: drawing papers of loads."""

from celery import shared_task


@shared_task(name="production.coating.tasks.draw_load_paper")  # type: ignore[untyped-decorator]
def draw_load_paper(paper_id: int) -> None:
    # Imported here because it loads the typesetter, which the web process must not.
    from production.coating.papers.making import make_paper

    make_paper(paper_id)
