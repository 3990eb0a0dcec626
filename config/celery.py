"""Celery for the production mode: a doorbell and a pool of runners, never the queue.

The rows of ``duework`` are the queue. Redis may be lost with all it holds;
what waits is found by the tickers which every worker process runs (see
``duework.tasks``). Start workers with ``celery -A config worker``; beat is not needed.
"""

import os

from celery import Celery
from django.conf import settings

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

app = Celery("curewright")
app.conf.update(
    broker_url=settings.BROKER_URL or "memory://",
    accept_content=["json"],
    task_serializer="json",
    task_ignore_result=True,
    task_store_errors_even_if_ignored=False,
    # A message is acknowledged when its work is done, and given back when a child dies.
    task_acks_late=True,
    task_reject_on_worker_lost=True,
    worker_prefetch_multiplier=1,
    task_soft_time_limit=600,
    task_time_limit=660,
    worker_max_tasks_per_child=1_000,
    broker_connection_retry_on_startup=True,
    broker_connection_max_retries=None,
    broker_connection_timeout=2,
    broker_transport_options={
        "visibility_timeout": 300,
        # By default unacknowledged messages are looked for every 10 x 10 s only.
        "unacked_restore_interval": 1,
        "unacked_restore_throttle": 1,
        # A web request that rings a dead broker loses 0.05 s, a mute one 1 s, and then
        # nobody rings for a while. Workers reconnect by themselves, for ever.
        "max_retries": 0,
        "socket_connect_timeout": 1,
        "socket_timeout": 1,
        "health_check_interval": 10,
    },
    timezone="UTC",
    worker_hijack_root_logger=False,
)
# shared_task asks for the app in whichever thread serves a request.
app.set_default()
app.autodiscover_tasks(["duework"])
