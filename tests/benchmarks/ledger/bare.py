"""Answers every request with the text that one query returns: a WSGI function and nothing else.

python -m tests.benchmarks.ledger.bare DATABASE-URL QUERY PARAMETERS-AS-JSON
"""

import json
import sys
from collections.abc import Callable, Iterable
from typing import Any

import waitress
from psycopg_pool import ConnectionPool


def main() -> None:
    url, query, parameters = sys.argv[1], sys.argv[2], json.loads(sys.argv[3])
    # No transaction around it, and planned once.
    with ConnectionPool(
        url, min_size=8, open=True, kwargs={"prepare_threshold": 1, "autocommit": True}
    ) as pool:

        def answer(environ: dict[str, Any], start: Callable[..., Any]) -> Iterable[bytes]:
            with pool.connection() as connection:
                (text,) = connection.execute(query.encode(), parameters).fetchone() or ("",)
            start("200 OK", [("Content-Type", "application/json")])
            return [text.encode()]

        server = waitress.create_server(answer, host="127.0.0.1", port=0, threads=8)
        sys.stdout.write(f"bare on {server.effective_port}\n")
        sys.stdout.flush()
        server.run()


if __name__ == "__main__":
    main()
