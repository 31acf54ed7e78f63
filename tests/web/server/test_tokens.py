"""Tokens: the file that names them, and who is let in by one."""

from __future__ import annotations

import base64
import hashlib
import re
from pathlib import Path

import pytest

from drawmark.cli import main
from drawmark.errors import UserError
from drawmark.tokens import MOST_TOKENS, Token, Tokens, make_token, read_tokens
from drawmark.web import create_app
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.settings import Settings
from drawmark.web.wire.installed_rules import core_rules

ABC = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
"""SHA-256 of "abc", the example of FIPS 180-2, appendix B.1 (from memory)."""
EMPTY = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"


def named(path, authorization):
    token = read_tokens(path).find(authorization)
    return None if token is None else token.name


@pytest.fixture
def written(tmp_path):
    def write(text):
        file = tmp_path / "tokens"
        file.write_bytes(text if isinstance(text, bytes) else text.encode())
        return str(file)

    return write


def test_several_tokens_comments_and_ends_of_lines(written):
    tokens = read_tokens(written(f"# who may ask\r\n\r\nclub-app {ABC}\r\n  desk\t{EMPTY}"))
    assert {token.name: digest.hex() for digest, token in tokens.by_digest.items()} == {
        "club-app": ABC,
        "desk": EMPTY,
    }
    assert [token.line for token in tokens.by_digest.values()] == [3, 4]


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        pytest.param("", "holds no token", id="empty"),
        pytest.param("# nobody\n\n", "holds no token", id="only comments"),
        pytest.param(f"a {ABC}\nb\n", "line 2: must be a name", id="no hash"),
        pytest.param(f"a {ABC[:-1]}", "line 1: must be a name", id="too short"),
        pytest.param(f"a {ABC}0", "line 1: must be a name", id="too long"),
        pytest.param(f"a {ABC.upper()}", "line 1: must be a name", id="not as it is printed"),
        pytest.param(f"A {ABC}", "line 1: must be a name", id="upper case"),
        pytest.param(f"1 {ABC}", "line 1: must be a name", id="no letter"),
        pytest.param(ABC, "line 1: must be a name", id="no name"),
        pytest.param(f"a {ABC} b", "line 1: behind the SHA-256 may stand", id="more on the line"),
        pytest.param(f"a {ABC} b=c", "line 1: behind the SHA-256 may stand", id="unknown word"),
        pytest.param(f"a {ABC} maintainer=1", "behind the SHA-256 may stand", id="not so"),
        pytest.param(f"a {ABC} club", "line 1: behind the SHA-256 may stand", id="no value"),
        pytest.param(f"a {ABC} club=", "line 1: club must be lower-case", id="empty"),
        pytest.param(f"a {ABC} club=Elm", "line 1: club must be lower-case", id="no club's name"),
        pytest.param(f"a {ABC} club=a,b", "line 1: club must be lower-case", id="two clubs"),
        pytest.param(f"a {ABC} club=../x", "line 1: club must be lower-case", id="a way out"),
        pytest.param(f"a {ABC} club=a club=a", "line 1: has club twice", id="a word twice"),
        pytest.param(f"a {ABC} rulesets=a,,b", "rulesets must be lower-case", id="no name"),
        pytest.param(f"a {ABC} rulesets=a,b,a", "rulesets names one twice", id="named twice"),
        pytest.param(f"a {ABC} rate=0", "rate must be a whole number from 1 to", id="no rate"),
        pytest.param(f"a {ABC} rate=1.5", "rate must be a whole number", id="not whole"),
        pytest.param(f"a {ABC} rate=\u0665", "rate must be a whole number", id="other digits"),
        pytest.param(f"a {ABC} items=1000000000000", "items must be a whole", id="too many"),
        pytest.param(f"a {ABC} at_once=64", "at_once must be a whole number from 1 to 63", id="64"),
        pytest.param(f"a {ABC} maintainer club=a", "goes with no other word", id="of a club"),
        pytest.param(b"a \xff\xfe", "line 1: must be a name", id="not text"),
        pytest.param(f"a {ABC}\n\na {EMPTY}", "line 3: repeats a name or token", id="a name twice"),
        pytest.param(f"a {ABC}\nb {ABC}", "line 2: repeats a name or token", id="a token twice"),
    ],
)
def test_fault_of_the_file_names_the_line_and_shows_nothing_of_it(written, text, fault):
    path = written(text)
    with pytest.raises(UserError) as raised:
        read_tokens(path)
    words = str(raised.value)
    assert words.startswith(f"DRAWMARK_TOKENS_FILE {path}")
    assert fault in words
    assert len(words.splitlines()) == 1
    assert ABC[:-1] not in words


@pytest.mark.parametrize(("mode", "refused"), [(0o600, False), (0o664, False), (0o606, True)])
def test_a_file_that_everybody_can_write_is_refused(written, mode, refused):
    path = written(f"club-app {ABC}")
    Path(path).chmod(mode)
    if not refused:
        assert named(path, "Bearer abc") == "club-app"
        return
    with pytest.raises(UserError, match="can be written by everybody") as raised:
        read_tokens(path)
    assert len(str(raised.value).splitlines()) == 1


def test_too_many_tokens(written):
    lines = [f"n{number} {number:064x}" for number in range(MOST_TOKENS + 1)]
    assert len(read_tokens(written("\n".join(lines[:-1]))).by_digest) == MOST_TOKENS
    with pytest.raises(UserError, match=f"line {MOST_TOKENS + 1}: more than {MOST_TOKENS}"):
        read_tokens(written("\n".join(lines)))


@pytest.mark.parametrize("path", ["nowhere", "."])
def test_a_file_that_cannot_be_read(tmp_path, path):
    with pytest.raises(UserError, match="cannot be read"):
        read_tokens(str(tmp_path / path))


def test_a_token_is_32_random_bytes_and_its_line_lets_it_in(written):
    made = [make_token("club-app") for _ in range(20)]
    assert len({token for token, _ in made}) == 20
    for token, line in made:
        assert len(base64.urlsafe_b64decode(token + "=")) == 32
        assert named(written(line), f"Bearer {token}") == "club-app"


def test_command_shows_the_token_once_and_prints_the_line(capsys, written):
    assert main(["token", "new", "club-app"]) == 0
    out, err = capsys.readouterr()
    (token,) = re.findall(r"^  ([A-Za-z0-9_-]{43})$", err, re.MULTILINE)
    assert out == f"club-app {hashlib.sha256(token.encode()).hexdigest()}\n"
    assert named(written(out), f"bearer {token}") == "club-app"


@pytest.mark.parametrize("name", ["", "Club", "a b", "a\nb", "a" * 61])
def test_command_refuses_a_name_in_one_line(capsys, name):
    assert main(["token", "new", name]) == 2
    out, err = capsys.readouterr()
    assert (out, len(err.splitlines())) == ("", 1)


@pytest.mark.parametrize(
    ("authorization", "name"),
    [
        ("Bearer abc", "first"),
        ("bearer  abc", "first"),
        ("Bearer xyz", "second"),
        ("Bearer abcd", None),
        ("Bearer ab", None),
        ("Bearer ABC", None),
        ("Bearer", None),
        ("Bearer ", None),
        ("Basic abc", None),
        ("abc", None),
        ("Bearer abc, Bearer xyz", None),
        ("Bearer " + ABC, None),
        ("Bearer \u00e9", None),
        ("Bearer " + "a" * 100_000, None),
    ],
)
def test_which_token_it_is(written, authorization, name):
    lines = f"first {ABC}\nsecond {hashlib.sha256(b'xyz').hexdigest()}"
    assert named(written(lines), authorization) == name


def test_a_look_up_compares_no_token_that_was_sent(written):
    """What is looked up is a digest, which nobody can choose; so time tells nothing of tokens."""
    sought = []

    class Watched(dict):
        def get(self, key):
            sought.append(key)
            return super().get(key)

    known = read_tokens(written(f"first {ABC}"))
    tokens = Tokens(known.where, Watched(known.by_digest))
    assert tokens.find("Bearer abc").name == "first"
    assert tokens.find("Bearer abd") is None
    assert sought == [hashlib.sha256(one).digest() for one in (b"abc", b"abd")]


def test_what_a_line_may_say(written):
    path = written(
        f"a {ABC} club=elm-hall rulesets=beginners,indoor\trate=20 items=500 at_once=2\n"
        f"b {EMPTY} maintainer rate=1"
    )
    first, second = read_tokens(path).by_digest.values()
    assert first == Token(
        name="a",
        line=1,
        club="elm-hall",
        rulesets=("beginners", "indoor"),
        rate=20,
        items=500,
        at_once=2,
    )
    assert second == Token(name="b", line=2, maintainer=True, rate=1)


def test_command_writes_what_the_token_may(capsys, written):
    words = ["--club", "elm", "--rulesets", "a,b", "--rate", "5", "--items", "9", "--at-once", "2"]
    assert main(["token", "new", "club-app", *words]) == 0
    out, _ = capsys.readouterr()
    (token,) = read_tokens(written(out)).by_digest.values()
    assert (token.club, token.rulesets) == ("elm", ("a", "b"))
    assert (token.rate, token.items, token.at_once) == (5, 9, 2)
    assert main(["token", "new", "watch", "--maintainer"]) == 0
    assert capsys.readouterr().out.endswith(" maintainer\n")


@pytest.mark.parametrize(
    "words",
    [["--club", "a b"], ["--club", "a\nb"], ["--rate", "x"], ["--maintainer", "--club", "a"]],
)
def test_command_makes_no_line_that_would_be_refused(capsys, words):
    assert main(["token", "new", "club-app", *words]) == 2
    out, err = capsys.readouterr()
    assert (out, len(err.splitlines())) == ("", 1)
    assert err.startswith("drawmark: no such token can be made: ")


@pytest.fixture(scope="module")
def guarded(tmp_path_factory):
    tokens = tmp_path_factory.mktemp("guarded") / "tokens"
    tokens.write_text(f"club-app {ABC}")
    settings = Settings(tokens_file=str(tokens))
    return create_app(settings, core_rules()).test_client()


@pytest.mark.parametrize("path", ["/healthz", "/readyz"])
def test_health_is_open(guarded, path):
    assert guarded.get(path).status_code == 200


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("POST", "/v1/fit-check"),
        ("POST", "/v1/fit-check/batch"),
        ("GET", "/v1/rules"),
        ("GET", "/metrics"),
        ("GET", "/docs"),
        ("GET", "/openapi.json"),
        ("GET", "/v1/nothing"),
        ("GET", "/healthz/"),
        ("GET", "//healthz"),
        ("GET", "/v1/../healthz"),
        ("OPTIONS", "/v1/fit-check"),
        ("FOO", "/"),
    ],
)
@pytest.mark.parametrize(
    ("headers", "way"),
    [
        ({}, "Bearer"),
        ({"Authorization": "Bearer nobody"}, 'Bearer error="invalid_token"'),
    ],
    ids=["none", "unknown"],
)
def test_all_else_needs_a_token(guarded, method, path, headers, way):
    response = guarded.open(path, method=method, headers=headers)
    assert response.status_code == 401
    assert response.mimetype == "application/problem+json"
    assert response.get_json()["title"] == "Unauthorized"
    assert response.headers["WWW-Authenticate"] == way
    assert response.headers["X-Content-Type-Options"] == "nosniff"


def test_head_has_no_body(guarded):
    response = guarded.head("/v1/rules")
    assert (response.status_code, response.data) == (401, b"")


def test_with_a_token(guarded):
    headers = {"Authorization": "Bearer abc"}
    assert guarded.get("/metrics", headers=headers).status_code == 200
    answer = guarded.post("/v1/fit-check", json=EXAMPLES["fit-check"], headers=headers)
    assert answer.status_code == 200
    assert guarded.get("/v1/nothing", headers=headers).status_code == 404


@pytest.mark.parametrize("path", ["/docs", "/openapi.json"])
def test_the_document_is_open_by_setting(written, path):
    settings = Settings(tokens_file=written(f"club-app {ABC}"), open_docs=True)
    client = create_app(settings, core_rules()).test_client()
    assert client.get(path).status_code == 200
    assert client.get("/v1/rules").status_code == 401


def test_document_is_the_same_with_and_without(guarded, client):
    theirs = guarded.get("/openapi.json", headers={"Authorization": "Bearer abc"})
    assert theirs.data == client.get("/openapi.json").data
    document = theirs.get_json()
    assert document["security"] == [{}, {"token": []}]
    assert document["paths"]["/healthz"]["get"]["security"] == []
    assert document["components"]["securitySchemes"]["token"]["scheme"] == "bearer"
