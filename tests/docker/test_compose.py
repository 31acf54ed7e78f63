"""compose.yaml: every container confined, and one port of one of them published, on loopback."""

import re
from pathlib import Path
from typing import Any

import pytest
import yaml

from drawmark.rules import registry
from drawmark.rules.configuration import configure
from drawmark.web import create_app
from drawmark.web import settings as web_settings
from drawmark.web.server.gunicorn_server import GunicornServer
from drawmark.web.settings import SettingError, Settings, read_settings
from drawmark.web.wire.installed_rules import core_rules
from drawmark.web.wire.operations import operations_of

FOLDER = Path(__file__).parents[2] / "docker"
SERVICES: dict[str, Any] = yaml.safe_load((FOLDER / "compose.yaml").read_text())["services"]
DRAWMARK = [name for name in SERVICES if name != "nginx"]


@pytest.mark.parametrize("name", SERVICES)
def test_every_container_is_confined(name: str) -> None:
    service = SERVICES[name]
    assert service["read_only"] is True
    assert service["cap_drop"] == ["ALL"]
    assert service["security_opt"] == ["no-new-privileges:true"]
    assert service["restart"] == "unless-stopped"
    assert service["logging"]["options"] == {"max-size": "10m", "max-file": "3"}
    assert service["pids_limit"] > 0
    assert [place.split(":")[0] for place in service["tmpfs"]] == ["/tmp"]
    assert all(volume.endswith(":ro") for volume in service["volumes"])


@pytest.mark.parametrize(
    ("setting", "choices"),
    [
        ("DRAWMARK_SCHEME", "http https"),
        ("DRAWMARK_LOG_ADDRESSES", "0 1"),
        ("DRAWMARK_NGINX_RATE", "50 0"),
    ],
)
def test_settings_of_nginx_choose_a_file_that_exists(setting: str, choices: str) -> None:
    (volume,) = (one for one in SERVICES["nginx"]["volumes"] if f"${{{setting}:-" in one)
    place, _ = volume.removesuffix(":ro").rsplit(":", 1)
    default = choices.split()[0]
    before, after = place.split(f"${{{setting}:-{default}}}")
    assert all((FOLDER / f"{before}{choice}{after}").is_file() for choice in choices.split())


@pytest.mark.parametrize("name", DRAWMARK)
def test_a_service_is_limited_and_published_by_nginx_alone(name: str) -> None:
    assert SERVICES[name]["mem_limit"] == "768m"
    assert "ports" not in SERVICES[name]


def test_the_club_file_that_comes_along_is_in_force() -> None:
    configuration = configure(registry.load(), FOLDER / "club" / "drawmark.toml")
    (ruleset,) = configuration.rulesets.values()
    assert [group.plugin for group in ruleset.groups] == ["core"]
    assert configuration.missing == ()


@pytest.mark.parametrize("name", DRAWMARK)
def test_every_setting_is_handed_through(name: str) -> None:
    handed = SERVICES[name]["environment"]
    source = Path(web_settings.__file__).read_text(encoding="utf-8")
    known = set(re.findall(r'"(DRAWMARK_[A-Z_]+|WEB_CONCURRENCY)"', source))
    # The image holds its own revision, which a name without a value would take away.
    assert {one.partition("=")[0] for one in handed} == known - {"DRAWMARK_REVISION"}
    # nginx sets X-Forwarded-For to the address that it sees, so one proxy's word is taken.
    assert "DRAWMARK_TRUSTED_PROXIES=1" in handed


@pytest.mark.parametrize("name", DRAWMARK)
def test_a_service_without_tokens_is_open_on_loopback_alone(name: str) -> None:
    # It refuses to start if this is another address and there are no tokens: test_who_may_reach_it.
    handed = SERVICES[name]["environment"]
    assert "DRAWMARK_PUBLISHED=${DRAWMARK_LISTEN:-127.0.0.1:8080}" in handed
    assert not any(one.startswith("DRAWMARK_ALLOW_OPEN=") for one in handed)


def test_nginx_listens_on_loopback_unless_told_otherwise() -> None:
    assert SERVICES["nginx"]["ports"] == ["${DRAWMARK_LISTEN:-127.0.0.1:8080}:8080"]


@pytest.mark.parametrize("profile", ["default", "replicas"])
def test_nginx_knows_the_services_of_the_profile(profile: str) -> None:
    settings = (FOLDER / "nginx" / "upstream" / f"{profile}.conf").read_text()
    wanted = {name for name in DRAWMARK if profile in SERVICES[name].get("profiles", [profile])}
    lines = re.findall(r"^server (\S+):8000 (.+;)$", settings, re.M)
    assert {name for name, _ in lines} == wanted
    # Each is named as often as the others, and alike.
    alike = {tuple(how for name, how in lines if name == one) for one in wanted}
    assert len(alike) == 1


@pytest.mark.parametrize("name", DRAWMARK)
def test_nginx_knows_where_each_service_is(name: str) -> None:
    address = SERVICES[name]["networks"]["club"]["ipv4_address"]
    assert f"{name}:{address}" in SERVICES["nginx"]["extra_hosts"]


def test_nginx_lets_through_what_the_service_accepts() -> None:
    settings = (FOLDER / "nginx" / "nginx.conf").read_text()
    size = r"client_max_body_size (\d+)k;"
    (others,) = re.findall(rf"^    {size}", settings, re.M)
    lists = dict(re.findall(rf"location = /v1/(\S+) {{\n +{size}", settings))
    for operation in operations_of(core_rules()):
        assert int(lists.get(operation.path, others)) << 10 == operation.body_limit
    assert lists.keys() < {operation.path for operation in operations_of(core_rules())}
    streams = re.findall(r"client_max_body_size (\d+)m;", settings)
    assert len(set(streams)) == 1
    limit = int(streams[0]) << 20
    assert limit >= Settings().body_limit
    for name in DRAWMARK:
        assert f"DRAWMARK_STREAM_LIMIT={limit}" in SERVICES[name]["environment"]
        # Each of two workers has two batches at a time, and may keep them in /tmp.
        room = re.match(r"/tmp:size=(\d+)m,", SERVICES[name]["tmpfs"][0])
        assert room is not None
        assert int(room[1]) << 20 > 4 * limit


def test_nginx_waits_longer_than_any_deadline() -> None:
    settings = (FOLDER / "nginx" / "nginx.conf").read_text()
    waits = set(re.findall(r"proxy_read_timeout (\d+)s;", settings))
    assert waits
    for seconds in waits:
        with pytest.raises(SettingError, match="DRAWMARK_DEADLINE must be"):
            read_settings({"DRAWMARK_DEADLINE": seconds})


@pytest.mark.parametrize("name", DRAWMARK)
def test_a_service_has_time_to_end(name: str) -> None:
    grace = int(SERVICES[name]["stop_grace_period"].removesuffix("s"))
    server = GunicornServer("127.0.0.1", 8000, Settings(), create_app)
    assert grace > server.cfg.graceful_timeout
