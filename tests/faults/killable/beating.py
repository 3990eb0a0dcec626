"""A scheduler that rings each second: the project needs none, and two must do no harm."""

import os

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.faults.killable.settings")

from config.celery import app

app.conf.beat_schedule = {
    "look": {"task": "duework.drain", "schedule": 1.0, "options": {"expires": 60, "retry": False}}
}
