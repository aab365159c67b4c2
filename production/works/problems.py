"""Problems that the floor reports, with a photo; and their settling."""

from django.db import transaction
from django.utils import timezone

from bom.kernel.attachments import PICTURES, Attachment, keep, read_attachment
from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User
from production.works import tracking
from production.works.card_closing import OPEN, stop_times
from production.works.card_making import locked_card
from production.works.card_models import JobCard, WorkProblem, WorkTime
from production.works.models import WorksOperation

FOLDER = "problems"
MOST_WORDS = 200


def read_photo(content: bytes) -> Attachment:
    """A photo as it was sent: JPEG, PNG or WebP, by its first bytes.

    Raises:
        ProblemError: it is empty, too large, or no such picture.
    """
    return read_attachment(content, kinds=PICTURES, what="photo")


@transaction.atomic
def report(
    *,
    card: JobCard,
    kind: str,
    words: str,
    by: User,
    key: str,
    photo: Attachment | None = None,
    stops_work: bool = False,
) -> WorkProblem:
    """Write down what went wrong at a card. The same key again returns the first report.

    What stops the work stops all times on the card too, and shows in the week until it is settled.

    Raises:
        ProblemError: no words, too many, or an unknown kind.
    """
    card = locked_card(card)
    if before := WorkProblem.objects.filter(key=key).first():
        return before
    words = words.strip()
    if not words or len(words) > MOST_WORDS or kind not in WorkProblem.Kind.values:
        mend = f"Say in at most {MOST_WORDS} characters what is wrong, and choose what it is about."
        raise ProblemError(Problem("The problem is not described", card.number, mend))
    made = WorkProblem.objects.create(
        key=key, card=card, kind=kind, words=words, by=by, stops_work=stops_work, **_kept(photo)
    )
    if stops_work:
        stop_times(WorkTime.objects.filter(card=card), ended=WorkTime.Ended.PROBLEM)
        _say_on_operations(card, by)
    return made


@transaction.atomic
def settle(*, problem: WorkProblem, answer: str, by: User) -> WorkProblem:
    """The problem is dealt with; say how. One that is settled is left as it is.

    Raises:
        ProblemError: no answer.
    """
    card = locked_card(problem.card)
    problem = WorkProblem.objects.get(pk=problem.pk)
    if problem.solved_at is not None:
        return problem
    if not answer.strip():
        raise ProblemError(Problem("No answer is given", card.number, "Say what was done about it."))
    problem.solved_at, problem.solved_by, problem.answer = timezone.now(), by, answer.strip()[:MOST_WORDS]
    problem.save(update_fields=["solved_at", "solved_by", "answer"])
    if problem.stops_work:
        _say_on_operations(card, by)
    return problem


def _kept(photo: Attachment | None) -> dict[str, str]:
    return {"photo": keep(photo, FOLDER), "photo_type": photo.type} if photo else {}


def _say_on_operations(card: JobCard, by: User) -> None:
    """The card's operations say what stops them, or that nothing does any more."""
    if card.state not in OPEN:
        return
    open_ones = WorkProblem.objects.filter(card=card, stops_work=True, solved_at__isnull=True)
    words = "; ".join(open_ones.order_by("at").values_list("words", flat=True))
    for operation in WorksOperation.objects.filter(card_lines__card=card).distinct():
        tracking.report_problem(operation=operation, by=by, problem=words[:MOST_WORDS])
