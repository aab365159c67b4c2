"""The queue of background work."""

import os

from celery import Celery
from celery.schedules import crontab

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "production.config.settings")

app = Celery("workshop")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.conf.beat_schedule = {
    "look for alerts": {"task": "production.planning.tasks.watch_alerts", "schedule": 600.0},
    "keep what orders cost": {"task": "production.site.tasks.keep_costs", "schedule": 86400.0},
    "close silent runs": {"task": "production.scheduling.tasks.sweep", "schedule": 60.0},
    "close silent runs of levels": {"task": "inventory.levels.tasks.sweep", "schedule": 60.0},
    # Every hour, so that yesterday is kept within the hour after midnight, and what was written down late soon.
    "keep the worth of stock": {
        "task": "inventory.stock.tasks.keep_worth",
        "schedule": crontab(minute="20"),
    },
    "close silent layouts": {"task": "production.cutting.tasks.sweep", "schedule": 60.0},
    "close silent papers": {"task": "production.dispatch.tasks.sweep", "schedule": 60.0},
    "close silent readings": {"task": "bom.geometry.tasks.sweep", "schedule": 60.0},
}
app.autodiscover_tasks(
    [
        "bom.geometry",
        "inventory.buying",
        "inventory.levels",
        "inventory.stock",
        "production.coating",
        "production.cutting",
        "production.dispatch",
        "production.planning",
        "production.scheduling",
        "production.site",
        "production.works",
    ],
    related_name="tasks",
)
