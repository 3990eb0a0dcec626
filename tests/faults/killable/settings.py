"""The service's own settings for the database and due work, with the test-only app and its door."""

from config import settings as service

SECRET_KEY = "only-for-fault-tests"
INSTALLED_APPS = ["duework.apps.DueworkConfig", "tests.faults.killable.apps.KillableConfig"]
DATABASES = service.DATABASES
USE_TZ = True
ROOT_URLCONF = "tests.faults.killable.web"
ALLOWED_HOSTS = ["127.0.0.1"]
BROKER_URL = service.BROKER_URL
DUEWORK_DOORBELL = service.DUEWORK_DOORBELL
DUEWORK_LEASE_S = service.DUEWORK_LEASE_S
DUEWORK_TICK_S = service.DUEWORK_TICK_S
DUEWORK_KEEP_DAYS = service.DUEWORK_KEEP_DAYS
