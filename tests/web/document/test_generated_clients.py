"""Clients that public generators make of the live document, asked without a hand's edit."""

from __future__ import annotations

import ast
import importlib
import json
import os
import subprocess
import sys
from pathlib import Path

import httpx
import pytest

from builders.wire import q
from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.document.openapi import document_of, encode_document
from drawmark.web.wire.installed_rules import installed_rules

pytestmark = pytest.mark.long

RULES = installed_rules()
DOCUMENT = document_of(RULES)
SCHEMAS = DOCUMENT["components"]["schemas"]
# What a client may know only as an object: an OpenAPI document.
OPEN = {"Document"}
LOCAL = {"clicker-clearance": {"position": q(30, "mm")}}


def generate(folder, module, *arguments):
    """Run a generator on the document; give what it printed."""
    (folder / "openapi.json").write_bytes(encode_document(DOCUMENT))
    # One of them formats what it wrote, with a program that stands beside the interpreter.
    path = os.pathsep.join([str(Path(sys.executable).parent), os.environ["PATH"]])
    done = subprocess.run(
        [sys.executable, "-m", module, *arguments],
        cwd=folder,
        env={**os.environ, "PATH": path},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        timeout=300,
    )
    assert done.returncode == 0, done.stdout
    return done.stdout


def import_from(folder, name):
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(folder)
        return importlib.import_module(name)


@pytest.fixture(scope="module")
def printed(tmp_path_factory):
    """Generate a client; give its folder and what was printed."""
    folder = tmp_path_factory.mktemp("client")
    command = ("generate", "--path", "openapi.json", "--output-path", "asked", "--meta", "none")
    return folder, generate(folder, "openapi_python_client", *command)


@pytest.fixture(scope="module")
def package(printed):
    return import_from(printed[0], "asked")


@pytest.fixture(scope="module")
def models(tmp_path_factory):
    """Generate models alone; give their file."""
    folder = tmp_path_factory.mktemp("models")
    command = (
        "--input",
        "openapi.json",
        "--input-file-type",
        "openapi",
        "--output",
        "made_models.py",
    )
    command += ("--output-model-type", "pydantic_v2.BaseModel", "--formatters", "builtin")
    assert generate(folder, "datamodel_code_generator", *command) == ""
    return folder / "made_models.py"


def classes_in(*files):
    return [
        node
        for file in files
        for node in ast.parse(file.read_text()).body
        if isinstance(node, ast.ClassDef)
    ]


def members_of_any_type(node):
    return [
        f"{node.name}.{one.target.id}"
        for one in node.body
        if isinstance(one, ast.AnnAssign) and "Any" in ast.unparse(one.annotation)
    ]


def known(classes):
    """Hold the names of classes to those of components, and their members to known types."""
    names = [one.name for one in classes]
    assert [name for name in names if name not in SCHEMAS] == []
    assert len(set(names)) == len(names)
    untyped = [member for one in classes for member in members_of_any_type(one)]
    assert [one for one in untyped if one.partition(".")[0] not in OPEN] == []
    return set(names)


def test_nothing_is_left_out(printed):
    folder, text = printed
    assert "WARNING" not in text.upper()
    made = {file.stem for file in (folder / "asked" / "api" / "default").glob("*.py")}
    operations = [one for methods in DOCUMENT["paths"].values() for one in methods.values()]
    assert made >= {one["operationId"].replace("-", "_") for one in operations}


def test_client_invents_no_class(printed):
    folder, _ = printed
    made = known(classes_in(*(folder / "asked" / "models").glob("*.py")))
    assert {"FitCheckRequest", "Verdict", "Local", "ClickerClearanceInputs"} <= made


def test_models_invent_no_class(models):
    assert known(classes_in(models)) >= {"FitCheckRequest", "Verdict", "ClickerClearanceInputs"}


def body_of(path, local=LOCAL):
    """The document's own example, with the inputs of a plugin where the operation takes them."""
    content = DOCUMENT["paths"][f"/v1/{path}"]["post"]["requestBody"]["content"]
    body = content["application/json"]["example"]
    component = content["application/json"]["schema"]["$ref"].rpartition("/")[2]
    if path == "fit-check/batch":
        return component, {"items": [{**one, "local": local} for one in body["items"]]}
    if "local" in SCHEMAS[component]["properties"]:
        return component, {**body, "local": local}
    return component, body


@pytest.fixture(scope="module")
def call(package):
    """Call an operation through the generated client; give what was parsed and what was sent."""
    app = create_app(rules=RULES)
    sent = {}

    def keep(response):
        response.read()
        sent["answer"] = response.json()

    client = package.Client(
        base_url="http://localhost",
        httpx_args={
            "transport": httpx.WSGITransport(app=app),
            "event_hooks": {"response": [keep]},
        },
    )

    def called(path, local=LOCAL):
        component, body = body_of(path, local)
        name = DOCUMENT["paths"][f"/v1/{path}"]["post"]["operationId"].replace("-", "_")
        operation = importlib.import_module(f"asked.api.default.{name}")
        request = getattr(package.models, component).from_dict(body)
        assert request.to_dict() == body
        return operation.sync(client=client, body=request), sent["answer"]

    return called


@pytest.mark.parametrize("path", sorted(EXAMPLES))
def test_every_operation_answers_its_own_example(call, path):
    parsed, answer = call(path)
    assert type(parsed).__name__ != "Problem", answer
    assert parsed.to_dict() == answer


def test_verdict_is_read_as_a_word_of_its_own_type(call, package):
    parsed, answer = call("fit-check")
    assert parsed.verdict is package.models.Verdict.PASS
    assert answer["verdict"] == "pass"
    (item,) = call("fit-check/batch")[0].items
    assert item.result.verdict is package.models.Verdict.PASS


def test_inputs_of_a_plugin_arrive(call, package):
    # An arrow of 29.5 in at 25.75 in to the pivot point: the aid stands at the shaft's end.
    parsed, _ = call("fit-check", {"clicker-clearance": {"position": q(3.75, "in")}})
    assert parsed.verdict is package.models.Verdict.CAUTION
    assert "clicker-clearance" in [one.plugin for one in parsed.findings]


@pytest.mark.parametrize("path", sorted(EXAMPLES))
def test_models_hold_examples_and_answers(models, call, path):
    made = import_from(models.parent, "made_models")
    component, body = body_of(path)
    answered = DOCUMENT["paths"][f"/v1/{path}"]["post"]["responses"]["200"]["content"]
    answer = answered["application/json"]["schema"]["$ref"].rpartition("/")[2]
    held = getattr(made, component).model_validate_json(json.dumps(body))
    assert held.model_dump(mode="json", by_alias=True, exclude_unset=True) == body
    sent = call(path)[1]
    held = getattr(made, answer).model_validate_json(json.dumps(sent))
    assert held.model_dump(mode="json", by_alias=True, exclude_unset=True) == sent
