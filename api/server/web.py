"""Serve the API and the app from this process, with a background worker beside them."""

import gc
import socket
from collections.abc import Callable
from contextlib import ExitStack

import psycopg
import waitress
from django.conf import settings
from django.core.wsgi import get_wsgi_application
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.urls import get_resolver

from api.server.progress import give_up, say
from api.server.siblings import Sibling
from api.server.worker import BackgroundWorker

_THREADS = 8
_CONNECT_WAIT_S = 10
# So much of an answer waits for who reads it slowly before no more is made; it stays in memory, for
# what was put in a file first left its memory taken, by a megabyte for each 16 sent.
_WAITING_BYTES_MAX = 1024 * 1024
_OBJECTS_BEFORE_GARBAGE = 20_000
# The settings refuse smaller bodies than this with a reason; larger ones never reach them.
_BODY_BYTES_MAX = 64 * 1024 * 1024


def serve(
    held: socket.socket, *, with_worker: bool, processes: int, when_ready: Callable[[], None]
) -> None:
    """Answer requests, and do background jobs if asked to, until a signal says stop.

    So many processes answer, this one among them. `when_ready` is called once a request would be
    answered without delay.
    """
    if settings.WHITENOISE_ROOT is None:
        say("The app has not been built ('millrace build' does it): only the API is served.")
    with ExitStack() as beside:
        siblings = [beside.enter_context(Sibling(held)) for _ in range(processes - 1)]

        def all_ready() -> None:
            for sibling in siblings:
                sibling.wait_until_ready()
            if with_worker:
                beside.enter_context(BackgroundWorker())
            when_ready()

        answer(held, when_ready=all_ready)
        say("Stopping; a background job in hand is finished first ...")
    say("Stopped.")


def answer(held: socket.socket, *, when_ready: Callable[[], None]) -> None:
    """Answer requests in this process until a signal says stop; other processes may do so too."""
    server = waitress.create_server(
        get_wsgi_application(),
        sockets=[held],
        threads=_THREADS,
        ident=None,
        max_request_body_size=_BODY_BYTES_MAX,
        outbuf_high_watermark=_WAITING_BYTES_MAX,
        outbuf_overflow=2 * _WAITING_BYTES_MAX,
        clear_untrusted_proxy_headers=True,
        # From the proxy that is named, and from nobody else, who asks is taken as it says.
        trusted_proxy=settings.PROXY or None,
        trusted_proxy_headers={"x-forwarded-for"} if settings.PROXY else set(),
        # What a proxy that speaks TLS asks of us is https to everybody else.
        url_scheme="https" if settings.BEHIND_TLS else "http",
    )
    try:
        # Loads every view now, rather than while the first person waits.
        get_resolver().check()
        keep_what_is_loaded()
        when_ready()
        server.run()  # returns on Ctrl-C or SIGTERM, once the answers under way are given
    finally:
        server.task_dispatcher.shutdown()  # its threads would keep the process from ending
        server.close()


def keep_what_is_loaded() -> None:
    """Look for garbage among what requests leave, later than usual, and not in what is loaded.

    A report of a nation makes hundreds of thousands of rows; looking through them and all modules
    again and again took longer than to make them.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(_OBJECTS_BEFORE_GARBAGE)


def refuse_tables_out_of_date() -> None:
    """End the command if the database cannot be used as it is."""
    try:
        # The pool would go on trying for long, and then not say what is wrong.
        psycopg.connect(settings.DATABASE_URL, connect_timeout=_CONNECT_WAIT_S).close()
    except psycopg.OperationalError as error:
        raise give_up(f"the database in DATABASE_URL cannot be used: {error}") from None
    executor = MigrationExecutor(connection)
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        raise give_up("the database's tables are not up to date. Run: millrace migrate")
    connection.close()
