"""The command line: serve, ask in batches, demo, document, configuration check, tokens."""

from __future__ import annotations

import argparse
import os
import signal
import sys
from collections.abc import Sequence
from typing import NoReturn

from drawmark.errors import UserError


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command; every expected fault is one line and exit status 2.

    Where nobody reads what it prints any more, it ends as the system would end it.
    """
    parser = _parser()
    options = parser.parse_args(arguments)
    # Workers with two BLAS threads each get in each other's way; numpy reads this when it is first
    # imported, which a command does.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        status: int = options.run(options)
        sys.stdout.flush()
    except UserError as error:
        print(f"drawmark: {error}", file=sys.stderr)
        return 2
    except BrokenPipeError:
        # What is still to be written would raise again when the interpreter ends.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 128 + signal.SIGPIPE
    return status


class _Parser(argparse.ArgumentParser):
    """Says in one line what is wrong, like every other fault."""

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
    batch = commands.add_parser("batch", help="have many fit checks answered, a line each")
    batch.add_argument(
        "--url",
        default="http://127.0.0.1:8080",
        help="where the service listens (%(default)s)",
    )
    batch.add_argument("--token-file", help="file that holds the token")
    batch.add_argument("file", help="lines of JSON, or a JSON list; - for standard input")
    batch.set_defaults(run=_batch)
    demo = commands.add_parser("demo", help="check an invented club's evening")
    demo.set_defaults(run=_demo)
    document = commands.add_parser("openapi", help="print the OpenAPI document of the core")
    document.set_defaults(run=_openapi)
    config = commands.add_parser("config", help="look at a club's configuration")
    actions = config.add_subparsers(required=True, metavar="ACTION")
    check = actions.add_parser(
        "check", help="say what a file would do; exit status 1 where nothing could pass"
    )
    check.add_argument("file")
    check.set_defaults(run=_check)
    token = commands.add_parser("token", help="who may ask")
    actions = token.add_subparsers(required=True, metavar="ACTION")
    new = actions.add_parser("new", help="make a token, and its line for the file of tokens")
    new.add_argument("name", help="whose it is, in the log too; each name stands in that file once")
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
    from drawmark.client import main as batch

    return batch(options.url, options.token_file, options.file)


def _demo(options: argparse.Namespace) -> int:
    from drawmark.demo import main as demo

    return int(demo([]) or 0)


def _openapi(options: argparse.Namespace) -> int:
    from drawmark.web.document.openapi import document_of, encode_document, stripped
    from drawmark.web.wire.installed_rules import core_rules

    sys.stdout.buffer.write(encode_document(stripped(document_of(core_rules()))))
    return 0


def _check(options: argparse.Namespace) -> int:
    from drawmark.rules import registry, rule_sets

    configuration = rule_sets.configure(registry.load(), options.file)
    print(rule_sets.describe(configuration))
    return 1 if any(ruleset.missing for ruleset in configuration.rulesets.values()) else 0


def _new_token(options: argparse.Namespace) -> int:
    from drawmark.web.server.tokens import print_token

    print_token(options.name)
    return 0


if __name__ == "__main__":
    sys.exit(main())
