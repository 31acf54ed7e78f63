"""Several clubs in one service: none sees, meets or is harmed by anything of another's."""

from __future__ import annotations

import copy
import gc
import json
import sys

import pytest

from drawmark.errors import UserError
from drawmark.web.document.examples import EXAMPLES
from drawmark.web.document.listings import LISTINGS
from drawmark.web.document.problem_pages import PAGES
from drawmark.web.settings import Settings
from drawmark.web.wire.accept import CSV, DRAWN, FORMATS, HTML, JSON
from drawmark.web.wire.callers import read_callers
from web.clubs import FIGURES, REGISTRY, Federation

BATCH = "fit-check/batch"
NDJSON = "application/x-ndjson"
NOBODY = "nobly"
"""As long as the name of a club, and that of none."""
BOTH = ("alder", "birch")
ROTTEN = 'default = "cedar-evening"\n[rulesets.cedar-evening]\ncedar = "cedar"\n'


@pytest.fixture(scope="module")
def federation(tmp_path_factory):
    made = Federation(tmp_path_factory.mktemp("federation"))
    for club in BOTH:
        made.club(club)
        made.token(f"{club[0]}-app", f"club={club}")
        made.token(f"{club[0]}-indoor", f"club={club}", f"rulesets={club}-indoor")
    made.club("cedar", ROTTEN)
    made.club("elm", "[rulesets.elm-evening]\n")
    made.token("c-app", "club=cedar")
    made.token("d-app", "club=dogwood")
    made.token("e-app", "club=alder", "rulesets=birch-evening")
    made.token("prometheus", "maintainer")
    return made


@pytest.fixture(scope="module")
def client(federation):
    return federation.client()


@pytest.fixture(scope="module")
def one_file(tmp_path_factory):
    """Two clubs in one file, kept apart by the rule sets that their tokens may name."""
    made = Federation(tmp_path_factory.mktemp("file"), is_folder=False)
    made.in_one_file(*BOTH)
    for club in BOTH:
        made.token(f"{club[0]}-app", f"rulesets={club}-evening,{club}-indoor")
    made.token("everything")
    return made


@pytest.fixture(params=["folder", pytest.param("one file", marks=pytest.mark.long)])
def asked(request):
    """A service with two clubs, and the headers of their tokens."""
    if request.param == "folder":
        return request.getfixturevalue("client"), request.getfixturevalue("federation").sent
    made = request.getfixturevalue("one_file")
    return made.client(), made.sent


def other(club):
    return BOTH[1 - BOTH.index(club)]


def told(response):
    """All that a caller gets, but for the request's own name."""
    heads = sorted((name, text) for name, text in response.headers if name != "X-Request-ID")
    return f"{response.status} {heads} {response.get_data(as_text=True)}"


def marks_in(text, club):
    return [one for one in (club, club.capitalize(), FIGURES[club]) if one in text]


def local_of(club):
    return {f"{club}-hall": {f"{club}_lane": 3, f"{club}_side": f"{club}-left"}}


def naming(plain, club):
    """A body that names nothing of a club, and others that do."""
    yield plain
    yield {**plain, "ruleset": f"{club}-evening"}
    yield {**plain, "ruleset": f"{club}-indoor"}
    yield {**plain, "local": local_of(club)}
    yield {**plain, "local": {f"{club}-hall": {f"{club}_lane": "x"}}}
    yield {**plain, "ruleset": f"{club}-evening", "local": local_of(club)}
    yield {**plain, f"{club}": 1}


def in_parts(plain, club):
    """The same, with inputs where a list of archers or sets takes them."""
    for name in ("archers", "sets"):
        for local in (local_of(club), {f"{club}-hall": {}}):
            if name in plain:
                yield {**plain, name: [{**one, "local": local} for one in plain[name]]}


def bodies(path, club):
    plain = copy.deepcopy(EXAMPLES[path])
    if path != BATCH:
        yield from map(json.dumps, (*naming(plain, club), *in_parts(plain, club)))
        yield '{"' + club
        return
    items = []
    for one in naming(EXAMPLES["fit-check"], club):
        # Enough that are alike for columns, and one by itself.
        items += [{**one, "id": f"n {at}"} for at in range(9)]
        items.append({**one, "detail": "full"})
        yield json.dumps({"items": [{**one, "id": "alone"}]})
    yield json.dumps({"items": items})


def requests_of(club):
    """Whatever a caller may ask who knows all names of a club: method, path and the rest."""
    for path in EXAMPLES:
        kinds = (JSON, *FORMATS.get(path, ()), *DRAWN.get(path, ()))
        for body in bodies(path, club):
            for kind in kinds:
                headers = {"Accept": kind, "Content-Type": JSON}
                yield "POST", f"/v1/{path}", {"data": body, "headers": headers}
    items = json.loads([*bodies(BATCH, club)][-1])["items"]
    lines = "\n".join(map(json.dumps, items)) + f'\n{{"{club}\n'
    yield "POST", f"/v1/{BATCH}", {"data": lines, "headers": {"Content-Type": NDJSON}}
    paths = [listing.path for listing in LISTINGS.values() if listing.path != "/metrics"]
    for path in (*paths, *PAGES, "/", "/bench.js", "/v1/none", "/none", f"/v1/{club}"):
        for method in ("GET", "HEAD", "PUT", "OPTIONS"):
            yield method, path, {"headers": {"Accept": HTML}}
    yield "POST", "/v1/fit-check", {"data": club, "headers": {"Content-Type": "text/plain"}}


def ask(client, sent, token, request):
    method, path, given = request
    headers = {**given["headers"], **sent[token]}
    return client.open(path, method=method, **{**given, "headers": headers})


@pytest.mark.parametrize("club", ["alder", pytest.param("birch", marks=pytest.mark.long)])
def test_nothing_that_a_caller_gets_holds_anything_of_another_club(asked, club):
    """Each request also follows one of the other club, which may have left something behind."""
    (client, sent), kinds, mine = asked, set(), 0
    for theirs, own in zip(requests_of(other(club)), requests_of(club), strict=True):
        before = ask(client, sent, f"{other(club)[0]}-app", theirs)
        before.close()
        response = ask(client, sent, f"{club[0]}-app", own)
        text = told(response)
        assert marks_in(text, other(club)) == [], own
        mine += bool(marks_in(text, club))
        kinds.add((before.status_code, response.status_code, response.mimetype))
    # What it looks for is there for whoever may see it.
    assert mine > 100
    assert {(200, 200, kind) for kind in (JSON, CSV, HTML, NDJSON, "image/svg+xml")} <= kinds
    assert {one[1] for one in kinds} >= {200, 400, 404, 405, 415, 422}


@pytest.mark.parametrize("club", ["alder", pytest.param("birch", marks=pytest.mark.long)])
def test_what_is_anothers_is_answered_as_what_does_not_exist(asked, club):
    (client, sent), names = asked, other(club)
    assert len(names) == len(NOBODY)
    compared = 0
    for theirs, nobodys in zip(requests_of(names), requests_of(NOBODY), strict=True):
        answers = [told(ask(client, sent, f"{club[0]}-app", one)) for one in (theirs, nobodys)]
        assert answers[0].replace(names, NOBODY) == answers[1], theirs
        compared += answers[0] != answers[1]
    # A caller gets back the name of an unknown field, since that is its own word.
    assert compared > 10


def steps_of(client, federation, body):
    """Every function that the service calls and leaves until a body is answered."""
    steps = []

    def note(frame, event, argument):
        if frame.f_globals["__name__"].split(".")[0] in ("drawmark", "marshmallow", "flask"):
            name = getattr(argument, "__qualname__", "") if event[:2] == "c_" else ""
            steps.append((event, frame.f_code.co_qualname, name))

    gc.disable()
    sys.setprofile(note)
    try:
        response = client.post("/v1/fit-check", json=body, headers=federation.sent["a-app"])
    finally:
        sys.setprofile(None)
        gc.enable()
    return response.status_code, steps


def test_a_refusal_takes_the_same_steps_for_what_is_anothers_and_for_what_does_not_exist(
    client, federation
):
    for kind in range(1, 7):
        taken = []
        for name in ("birch", NOBODY, "birch", NOBODY):
            body = [*naming(EXAMPLES["fit-check"], name)][kind]
            taken.append(steps_of(client, federation, body))
        assert taken[2] == taken[3]
        assert taken[2][0] == 422
        assert len(taken[2][1]) > 50


def test_a_token_that_names_a_rule_set_gets_it_and_no_other_by_any_way(client, federation):
    """`a-indoor` may name one of two rule sets of its own club."""
    for request in requests_of("alder"):
        response = ask(client, federation.sent, "a-indoor", request)
        text = told(response)
        for word in ("alder-evening", "alder-hall", "alder lends", FIGURES["alder"]):
            # Its own word, given back.
            sent = str(request)
            assert word not in text or word in sent, request
        assert "alder_side" not in text
    answer = client.post(
        "/v1/fit-check", json=EXAMPLES["fit-check"], headers=federation.sent["a-indoor"]
    ).get_json()
    assert (answer["ruleset"], answer["verdict"]) == ("alder-indoor", "indeterminate")


def listed(client, federation, token, path):
    return client.get(f"/v1/{path}", headers=federation.sent[token]).get_json()[path]


def test_each_sees_its_own(client, federation):
    sets = {
        token: [one["ruleset"] for one in listed(client, federation, token, "rulesets")]
        for token in ("a-app", "b-app", "a-indoor")
    }
    assert sets == {
        "a-app": ["alder-evening", "alder-indoor"],
        "b-app": ["birch-evening", "birch-indoor"],
        "a-indoor": ["alder-indoor"],
    }
    names = {
        token: [one["plugin"] for one in listed(client, federation, token, "plugins")]
        for token in ("a-app", "a-indoor", "prometheus")
    }
    assert names["a-app"] == ["core", "alder-hall", "alder-broken"]
    assert names["a-indoor"] == ["core"]
    assert len(names["prometheus"]) == 5


@pytest.mark.parametrize("token", ["c-app", "d-app", "e-app"])
def test_where_a_configuration_has_faults_nothing_passes_and_nothing_is_shown(
    client, federation, token
):
    """A file with a fault, no file, and a token that names a rule set of another club."""
    for request in requests_of("alder"):
        method, path, _ = request
        if path in PAGES or path in ("/", "/bench.js", "/healthz", "/readyz"):
            continue
        response = ask(client, federation.sent, token, request)
        assert response.status_code == 503, request
        assert response.headers["Retry-After"] == "1"
        if method != "HEAD":
            assert "has faults" in response.get_json()["detail"]
            assert not any(one in told(response) for one in ("cedar", "dogwood", "alder", "birch"))


def test_figures_of_the_service_are_for_its_maintainer(client, federation):
    for token, status in (("a-app", 403), ("a-indoor", 403), ("c-app", 503), ("prometheus", 200)):
        response = client.get("/metrics", headers=federation.sent[token])
        assert response.status_code == status
        assert status == 200 or marks_in(told(response), "alder") == []
    assert client.get("/metrics").status_code == 401
    for method, path, given in requests_of("alder"):
        if method in ("GET", "POST") and path.startswith("/v1/") and path != "/v1/plugins":
            headers = {**given["headers"], **federation.sent["prometheus"]}
            response = client.open(path, method=method, **{**given, "headers": headers})
            assert response.status_code == 403
            assert "belongs to no club" in response.get_json()["detail"]


def test_readiness_counts_clubs_and_names_none(client):
    response = client.get("/readyz")
    state = response.get_json()
    assert response.status_code == 200
    assert state["status"] == "degraded"
    assert (state["plugins"], state["missing"]) == ([], [])
    assert state["clubs"] == {
        "known": 5,
        "closed": 2,
        "stale": 0,
        "waiting": 2,
        "faulty_tokens": 1,
    }
    assert not any(one in told(response) for one in ("alder", "birch", "cedar", "dogwood"))


@pytest.mark.parametrize("path", ["/docs", "/openapi.json"])
def test_an_open_document_is_that_of_the_core(federation, path):
    client = federation.client(open_docs=True)
    for headers in ({}, federation.sent["a-app"]):
        response = client.get(path, headers=headers)
        assert response.status_code == 200
        assert not any(marks_in(told(response), club) for club in BOTH)
    assert client.get("/v1/rules").status_code == 401


def test_of_one_file_a_token_sees_its_rule_sets_alone_and_others_all(one_file):
    client = one_file.client()
    sets = {
        token: [
            one["ruleset"]
            for one in client.get("/v1/rulesets", headers=sent).get_json()["rulesets"]
        ]
        for token, sent in one_file.sent.items()
    }
    assert sets["a-app"] == ["alder-evening", "alder-indoor"]
    assert sets["b-app"] == ["birch-evening", "birch-indoor"]
    assert len(sets["everything"]) == 4
    statuses = {
        token: client.get("/metrics", headers=sent).status_code
        for token, sent in one_file.sent.items()
    }
    assert statuses == {"a-app": 403, "b-app": 403, "everything": 200}
    # Both clubs lack a plugin that they require, and whoever asks is told no name.
    response = client.get("/readyz")
    assert response.status_code == 503
    assert not any(marks_in(told(response), club) for club in BOTH)


@pytest.mark.parametrize("words", ["club=alder", "rulesets=cedar-evening"])
def test_of_one_file_a_token_names_what_is_there(one_file, tmp_path, words):
    tokens = Federation(tmp_path)
    tokens.token("first", "rulesets=alder-evening")
    tokens.token("second", words)
    settings = Settings(config=str(one_file.folder), tokens_file=str(tokens.tokens))
    with pytest.raises(UserError, match="line 2: names a") as raised:
        read_callers(settings, registry=REGISTRY)
    assert words.split("=")[1] not in str(raised.value)
