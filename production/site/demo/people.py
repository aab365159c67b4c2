"""One person for each role, to look at the demonstration with."""

from dataclasses import dataclass

from django.contrib.auth.hashers import make_password

from bom.people.models import User
from production.site.roles import ASSEMBLY, COATING, LASER, MANAGER, OFFICE, STORES, VIEWER, sync_roles

PASSWORD = "workshop-demo"


@dataclass(frozen=True)
class SignIn:
    """A sign-in of the demonstration: the name typed, and the role it has."""

    name: str
    role: str
    first_name: str
    last_name: str


SIGN_INS = (
    SignIn("office", OFFICE, "Orla", "Fennimaker"),
    SignIn("manager", MANAGER, "Tam", "Quillbourne"),
    SignIn("stores", STORES, "Bryony", "Shelverton"),
    SignIn("laser", LASER, "Ivo", "Platterby"),
    SignIn("coating", COATING, "Nan", "Zincholm"),
    SignIn("assembly", ASSEMBLY, "Col", "Spannerley"),
    SignIn("viewer", VIEWER, "Peg", "Windowby"),
)


def add_people() -> dict[str, User]:
    """Make the sign-ins with their roles; one that exists already is left as it is."""
    groups = sync_roles()
    password = make_password(PASSWORD)
    people: dict[str, User] = {}
    for person in SIGN_INS:
        user, _ = User.objects.get_or_create(
            username=person.name,
            defaults={
                "first_name": person.first_name,
                "last_name": person.last_name,
                "password": password,
            },
        )
        user.groups.add(groups[person.role])
        people[person.name] = user
    return people


def remove_people() -> None:
    """Take away the demonstration's sign-ins, but nobody who may do everything."""
    User.objects.filter(username__in=[person.name for person in SIGN_INS], is_superuser=False).delete()
