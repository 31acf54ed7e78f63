"""Tries a club's rule sets on example fit checks."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec

from drawmark.batch_file import read_items
from drawmark.errors import UserError
from drawmark.rules.model import CORE
from drawmark.web import create_app
from drawmark.web.settings import Settings
from drawmark.web.wire.installed_rules import installed_rules


def try_file(config: str, examples: str) -> int:
    """Print what each rule set says of each example; give how many were refused."""
    rules = installed_rules(config)
    client = create_app(Settings(log_requests=False), rules).test_client()
    refused = 0
    for number, body in enumerate(_read(examples), 1):
        name = f"{number} ({body.pop('id')})" if "id" in body else str(number)
        for ruleset in [body["ruleset"]] if "ruleset" in body else rules.configuration.rulesets:
            reply = client.post(
                "/v1/fit-check", json={**body, "ruleset": ruleset, "detail": "full"}
            )
            answer = reply.get_json()
            if reply.status_code == 200:
                print(f"\n{name} in {ruleset}: {answer['verdict']}")
                print(*_lines_of(answer), sep="\n")
            else:
                refused += 1
                print(f"\n{name} in {ruleset}: REFUSED: {answer['detail']}")
                for error in answer.get("errors", ()):
                    print(f"  {error['pointer']}: {error['detail']}")
    return refused


def _read(path: str) -> Iterator[dict[str, Any]]:
    number = 0
    try:
        with Path(path).open("rb") as file:
            for number, line in enumerate(read_items(file), 1):
                try:
                    yield msgspec.json.decode(line, type=dict[str, Any])
                except msgspec.MsgspecError as error:
                    raise UserError(f"{path}: example {number}: {error}") from error
    except OSError as error:
        raise UserError(f"{path} cannot be read: {error.strerror}") from error
    if not number:
        # Nothing was tried, which must not look as if all were well.
        raise UserError(f"{path} holds no request")


def _lines_of(answer: dict[str, Any]) -> Iterator[str]:
    """Word what bears on the verdict, and all that local rules say or cannot check."""
    for name in ("minimum", "minimum_at_least"):
        if name in answer:
            yield f"  {name.replace('_', ' ')} {_quantity(answer[name])}"
    for one in answer["findings"]:
        if one["severity"] != "note" or one["plugin"] != CORE:
            held = [
                f"{word} {_quantity(one[word])}" for word in ("measured", "limit") if one.get(word)
            ]
            figures = f" ({', '.join(held)})" if held else ""
            yield f"  {_whose(one)}: {one['severity']}: {one['message']}{figures}"
    for one in answer["unevaluated"]:
        yield f"  {_whose(one)}: {one['reason']}"
    told = [_whose(one) for one in answer["unevaluated"]]
    for one in answer["not_checked"]:
        if one.get("plugin", CORE) != CORE and _whose(one) not in told:
            fields = ", ".join(one["fields"]).replace("|", " or ")
            yield f"  {_whose(one)}: not checked without {fields}"


def _whose(one: dict[str, Any]) -> str:
    return "/".join(filter(None, (one.get("plugin"), one.get("rule"))))


def _quantity(given: Any) -> str:
    return f"{given['value']} {given['unit']}" if isinstance(given, dict) else str(given)
