from django.apps import AppConfig

# Imported for its effect: tasks find this queue, and not a default one, as soon as Django is up.
from production.config.celery import app as celery_app

__all__ = ["ProductionConfig", "celery_app"]


class ProductionConfig(AppConfig):
    """Who ordered it, and who makes it when."""

    name = "production"
    verbose_name = "Workshop"
