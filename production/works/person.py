"""Who is at the screen."""

from django.http import HttpRequest

from bom.kernel.errors import Problem, ProblemError
from bom.people.models import User


def person(request: HttpRequest) -> User:
    """The signed-in person of a request; every page of the floor needs one."""
    if not isinstance(request.user, User):
        raise ProblemError(Problem("Nobody is signed in at this screen", mend="Sign in and do it again."))
    return request.user
