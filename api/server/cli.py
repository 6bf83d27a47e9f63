"""The `millrace` command.

Only what needs no settings is imported at the top: a command first finds its data folder, key and
database, then loads Django.
"""

import argparse
import signal
import sys
from collections.abc import Callable, Sequence
from contextlib import ExitStack, redirect_stdout
from pathlib import Path

from api.server import founding, roads, simulating
from api.server.app_build import BuildError, build, is_up_to_date
from api.server.installation import (
    FRONTEND,
    data_folder,
    prepare_settings,
    running_database,
)
from api.server.port import address_of, answer_to_own_names, hold_port, lead_mails_to
from api.server.progress import give_up, say, step
from api.server.siblings import CAN_SHARE_A_PORT, processes_by_default

_PORT = 8000
_PORT_MAX = 65535
_PROCESSES_MAX = 32


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; return its exit code."""
    options = _parser().parse_args(arguments)
    options.data = data_folder(options.data)
    prepare_settings(options.data)
    # As Ctrl-C does, so that everything is stopped in order.
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    run: Callable[[argparse.Namespace], None] = options.run
    try:
        run(options)
    except KeyboardInterrupt:
        say("Stopped.")
        return 128 + signal.SIGINT
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="millrace",
        description="Collect one clean stream from each place, and report it to the gram.",
        epilog="Without DATABASE_URL, Millrace runs a PostgreSQL of its own in the data folder. "
        "'millrace COMMAND --help' says more about a command.",
    )
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    served = [
        _add(commands, "demo", _demo, "build, seed and serve the invented Tamsin Isle"),
        _add(commands, "serve", _serve, "serve the API and the app, with one worker"),
    ]
    for command in served:
        command.add_argument("--host", default="127.0.0.1", help="where to listen (%(default)s)")
        command.add_argument(
            "--port", type=_port, default=_PORT, help="port; 0 for any free one (%(default)s)"
        )
    served[1].add_argument("--no-worker", action="store_true", help="leave jobs to other workers")
    served[1].add_argument(
        "--processes",
        type=_processes,
        default=processes_by_default(),
        help="how many answer requests, each on a processor, in some 200 MB (%(default)s)",
    )
    _add(commands, "worker", _worker, "do background jobs; run as many as you like")
    _add(commands, "migrate", _migrate, "bring the database's tables up to date")
    _add(commands, "build", _build, "build the app, if its sources have changed")
    founding.add_arguments(
        _add(commands, "found", _found, "found a community with its first organiser")
    )
    roads.add_arguments(
        _add(commands, "roads", _roads, "let a community's ways go along roads from a file")
    )
    _add(commands, "verify", _verify, "work out anew every balance, sum, seal and sealed line")
    simulating.add_arguments(
        _add(commands, "simulate", _simulate, "compare policies on invented communities")
    )
    openapi = _add(commands, "openapi", _openapi, "write the API's OpenAPI description")
    openapi.add_argument("--output", type=Path, help="file to write (standard output)")
    manage = _add(commands, "manage", _manage, "run one of Django's own commands")
    manage.add_argument("rest", nargs=argparse.REMAINDER, metavar="...", help="what to run")
    return parser


def _add(
    commands: "argparse._SubParsersAction[argparse.ArgumentParser]",
    name: str,
    run: Callable[[argparse.Namespace], None],
    what: str,
) -> argparse.ArgumentParser:
    parser = commands.add_parser(name, help=what, description=f"{what[0].upper()}{what[1:]}.")
    parser.add_argument("--data", type=Path, help="data folder (MILLRACE_DATA, or a usual place)")
    parser.set_defaults(run=run)
    return parser


def _port(text: str) -> int:
    port = int(text)
    if not 0 <= port <= _PORT_MAX:
        raise ValueError
    return port


def _processes(text: str) -> int:
    count = int(text)
    if not 1 <= count <= (_PROCESSES_MAX if CAN_SHARE_A_PORT else 1):
        raise ValueError
    return count


def _demo(options: argparse.Namespace) -> None:
    answer_to_own_names(options.host)
    with hold_port(options.host, options.port) as held:
        lead_mails_to(held)
        _build(options)
        with running_database(options.data):
            _start_django()
            from api.server import demo, web

            _bring_tables_up_to_date()
            demo.seed()

            def say_ready() -> None:
                _say_ready(address_of(held))
                demo.say_who_can_sign_in(address_of(held))

            web.serve(held, with_worker=True, processes=1, when_ready=say_ready)


def _serve(options: argparse.Namespace) -> None:
    answer_to_own_names(options.host)
    with hold_port(options.host, options.port) as held, running_database(options.data) as ours:
        lead_mails_to(held)
        _start_django()
        from api.server import web

        if ours is None:
            web.refuse_tables_out_of_date()
        else:
            _bring_tables_up_to_date()
        web.serve(
            held,
            with_worker=not options.no_worker,
            processes=options.processes,
            when_ready=lambda: _say_ready(address_of(held)),
        )


def _say_ready(address: str) -> None:
    say(f"Millrace is ready: {address}    (stop with Ctrl-C)")


def _worker(options: argparse.Namespace) -> None:
    with running_database(options.data):
        _start_django()
        from api.server import worker

        say("Working. Stop with Ctrl-C.")
        worker.work()


def _migrate(options: argparse.Namespace) -> None:
    with running_database(options.data):
        _start_django()
        _bring_tables_up_to_date()


def _found(options: argparse.Namespace) -> None:
    with running_database(options.data):
        _start_django()
        _bring_tables_up_to_date()
        founding.found(options)


def _roads(options: argparse.Namespace) -> None:
    with running_database(options.data):
        _start_django()
        _bring_tables_up_to_date()
        roads.bring(options)


def _verify(options: argparse.Namespace) -> None:
    with running_database(options.data):
        _start_django()
        from api.server import verifying

        verifying.verify()


def _simulate(options: argparse.Namespace) -> None:
    simulating.simulate(options)


def _build(_options: argparse.Namespace) -> None:
    if is_up_to_date(FRONTEND):
        say("The app is built already.")
        return
    with step("Building the app (about a minute, the first time)"):
        try:
            build(FRONTEND)
        except BuildError as error:
            raise give_up(str(error)) from None


def _openapi(options: argparse.Namespace) -> None:
    _start_django()
    from django.core.management import call_command

    where = [] if options.output is None else ["--file", str(options.output)]
    call_command("spectacular", "--format", "openapi-json", "--validate", "--fail-on-warn", *where)


def _manage(options: argparse.Namespace) -> None:
    with ExitStack() as stack:
        with redirect_stdout(sys.stderr):  # the command's own output may go to a file
            stack.enter_context(running_database(options.data))
        from django.core.management import execute_from_command_line

        execute_from_command_line(["millrace manage", *options.rest])


def _start_django() -> None:
    import django

    django.setup()


def _bring_tables_up_to_date() -> None:
    from django.core.management import call_command

    with step("Bringing the tables up to date"):
        call_command("migrate", interactive=False, verbosity=0)
