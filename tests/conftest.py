"""What every test stands on: one PostgreSQL for the session, started when first needed."""

import os
import secrets
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection
from pytest_django import DjangoDbBlocker

from api.server.postgres import EmbeddedPostgres
from api.settings import database_settings


def pytest_addoption(parser: pytest.Parser) -> None:
