from django.apps import AppConfig


class BomConfig(AppConfig):
    """What a thing is."""

    name = "bom"
    verbose_name = "Parts and bills"
