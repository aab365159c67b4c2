from django.apps import AppConfig


class InventoryConfig(AppConfig):
    """How many there are, and who outside has promised more."""

    name = "inventory"
    verbose_name = "Stores and buying"

    def ready(self) -> None:
        # Models can be imported only now; buying stands above stores and adds how its postings are undone.
        from inventory.buying import undoing  # noqa: F401
