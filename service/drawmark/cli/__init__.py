"""Run the service and its tools. COMMAND --help says more about each."""

from __future__ import annotations

import argparse
import os
import signal
import sys
from collections.abc import Sequence
from typing import NoReturn

from drawmark.errors import UserError


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command; a fault that a user can mend is one line and exit status 2."""
    parser = _parser()
    options = parser.parse_args(arguments)
    # Workers with several BLAS threads each slow each other down. Numpy reads this when it is first
    # imported, which happens in a command.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        status: int = options.run(options)
        sys.stdout.flush()
    except UserError as error:
        print(f"drawmark: {error}", file=sys.stderr)
        return 2
    except BrokenPipeError:
        # Nobody reads the output any more. The interpreter would raise again for what is left.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 128 + signal.SIGPIPE
    return status


class _Parser(argparse.ArgumentParser):
    """Reports a fault in one line."""

    def error(self, message: str) -> NoReturn:
        self.exit(2, f"{self.prog}: {message}; see {self.prog} --help\n")


def _parser() -> argparse.ArgumentParser:
    from drawmark import __version__

    parser = _Parser(prog="drawmark", description=__doc__)
    parser.add_argument("--version", action="version", version=f"drawmark {__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    serve = commands.add_parser("serve", help="run the service")
    serve.add_argument("--host", default="127.0.0.1", help="address to listen on (%(default)s)")
    serve.add_argument("--port", type=int, default=8080, help="port to listen on (%(default)s)")
    serve.set_defaults(run=_serve)
    batch = commands.add_parser("batch", help="send fit checks from a file to a running service")
    batch.add_argument(
        "--url",
        default="http://127.0.0.1:8080",
        help="address of the service (%(default)s)",
    )
    batch.add_argument("--token-file", help="file that holds the token")
    batch.add_argument(
        "file", help=("one fit check a line in JSON, or a JSON list; - for standard input")
    )
    batch.set_defaults(run=_batch)
    demo = commands.add_parser("demo", help="show an evening or a season of an invented club")
    shown = demo.add_mutually_exclusive_group()
    shown.add_argument("--evening", action="store_true", help="an evening (if nothing is said)")
    shown.add_argument("--season", action="store_true", help="a season, from autumn to spring")
    demo.set_defaults(run=_demo)
    document = commands.add_parser("openapi", help="print the core's OpenAPI document")
    document.set_defaults(run=_openapi)
    config = commands.add_parser("config", help="check a club's configuration")
    actions = config.add_subparsers(required=True, metavar="ACTION")
    check = actions.add_parser(
        "check", help="say what a file would do; exit status 1 if nothing could pass"
    )
    check.add_argument("file", help="the file, or a folder with one for each club")
    check.add_argument(
        "--tokens", metavar="FILE", help="check too that these tokens fit the file or folder"
    )
    check.add_argument(
        "--try",
        dest="examples",
        metavar="FILE",
        help="say too what each rule set answers to these fit checks, as `batch` takes them; "
        "exit status 1 if one is refused",
    )
    check.set_defaults(run=_check)
    plugin = commands.add_parser("plugin", help="write a plugin, or check an installed one")
    actions = plugin.add_subparsers(required=True, metavar="ACTION")
    new = actions.add_parser("new", help="write a plugin that works into a new folder of its name")
    new.add_argument("name", help="lower-case words with hyphens between them")
    new.set_defaults(run=_new_plugin)
    check = actions.add_parser(
        "check", help="try an installed plugin on random fittings; exit status 1 for a fault"
    )
    check.add_argument("name")
    check.add_argument("--trials", type=int, default=150, help="number of fittings (%(default)s)")
    check.add_argument("--seed", type=int, default=1, help="of the chances (%(default)s)")
    check.set_defaults(run=_check_plugin)
    token = commands.add_parser("token", help="manage the callers' tokens")
    actions = token.add_subparsers(required=True, metavar="ACTION")
    new = actions.add_parser("new", help="make a token, and its line for the token file")
    new.add_argument("name", help="whose token it is, shown in the log; unique in the file")
    new.add_argument("--club", metavar="NAME", help="club that it belongs to, of several")
    new.add_argument(
        "--rulesets", metavar="NAMES", help="rule sets that it sees, with commas; default first"
    )
    new.add_argument("--rate", metavar="N", help="requests a second in each worker")
    new.add_argument("--items", metavar="N", help="most items of a batch or stream")
    new.add_argument("--at-once", metavar="N", help="calculations at once in each worker")
    new.add_argument(
        "--maintainer", action="store_true", help="for /metrics and /v1/plugins, and for no club"
    )
    new.set_defaults(run=_new_token)
    return parser


def _serve(options: argparse.Namespace) -> int:
    from drawmark.web import create_app
    from drawmark.web.settings import SettingError, read_settings

    if not 1 <= options.port <= 65535:
        raise SettingError(f"--port must be from 1 to 65535, not {options.port}")
    settings = read_settings()
    # Gunicorn reads the environment when it is imported, so settings are checked first.
    from drawmark.web.server.gunicorn_server import serve

    serve(options.host, options.port, settings, create_app)
    return 0


def _batch(options: argparse.Namespace) -> int:
    from drawmark.batch_file import check_file, read_token
    from drawmark.client import Drawmark

    token = None if options.token_file is None else read_token(options.token_file)
    with Drawmark(options.url, token) as client:
        return 1 if check_file(options.file, client) else 0


def _demo(options: argparse.Namespace) -> int:
    from drawmark.demo import main

    return main(season=options.season)


def _openapi(options: argparse.Namespace) -> int:
    from drawmark.web.document.openapi import document_of, encode_document, stripped
    from drawmark.web.wire.installed_rules import core_rules

    sys.stdout.buffer.write(encode_document(stripped(document_of(core_rules()))))
    return 0


def _check(options: argparse.Namespace) -> int:
    from drawmark.cli.check_config import check_file, check_folder

    check = check_folder if os.path.isdir(options.file) else check_file
    return check(options.file, options.tokens, options.examples)


def _new_plugin(options: argparse.Namespace) -> int:
    from pathlib import Path

    from drawmark.cli.new_plugin import write_plugin

    top = write_plugin(options.name, Path())
    print(f"Written: {top}. Install it with `pip install -e {top}`, then run its tests, and")
    print(f"`drawmark plugin check {options.name}`.")
    return 0


def _check_plugin(options: argparse.Namespace) -> int:
    from drawmark.cli.check_plugin import check_plugin

    return check_plugin(options.name, options.trials, options.seed)


def _new_token(options: argparse.Namespace) -> int:
    from drawmark.tokens import MAINTAINER, WORDS, print_token

    given = {word: getattr(options, word) for word in WORDS}
    words = [f"{word}={value}" for word, value in given.items() if value is not None]
    print_token(options.name, [*words, *([MAINTAINER] if options.maintainer else [])])
    return 0
