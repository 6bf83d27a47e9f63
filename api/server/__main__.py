"""`python -m api.server` is the `millrace` command."""

import sys

from api.server.cli import main

sys.exit(main())
