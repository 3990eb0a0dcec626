"""A bare task that does nothing: the price of Celery itself, to compare with.

``python -m tests.faults.killable.noop COUNT`` puts so many messages of it into the line.
"""

import os
import sys

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.faults.killable.settings")

from config.celery import app


@app.task(name="killable.noop", acks_late=False, ignore_result=True)
def noop() -> None:
    """Do nothing."""


if __name__ == "__main__":
    with app.producer_pool.acquire() as producer:
        for _ in range(int(sys.argv[1])):
            app.send_task("killable.noop", producer=producer, ignore_result=True)
