"""Runs the command line as a module."""

import sys

from drawmark.cli import main

sys.exit(main())
