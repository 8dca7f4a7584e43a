"""`python -m sidelong` is the command `sidelong`."""

import sys

from sidelong.cli import main

sys.exit(main())
