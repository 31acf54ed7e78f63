"""docker/kubernetes: pods that start, are confined, and end without cutting an answer off."""

import re
from pathlib import Path
from typing import Any
from unittest.mock import MagicMock

import pytest
import yaml

from drawmark.web import create_app
from drawmark.web.server.gunicorn_server import GunicornServer, check_address
from drawmark.web.settings import OPEN_PATHS, SettingError, Settings, read_settings

FOLDER = Path(__file__).parents[2] / "docker"
CLUB: dict[str, Any] = yaml.safe_load((FOLDER / "club" / "kustomization.yaml").read_text())
BASE = FOLDER / "club" / CLUB["resources"][0]
LISTED = yaml.safe_load((BASE / "kustomization.yaml").read_text())["resources"]
MANIFESTS: dict[str, Any] = {
    manifest["kind"]: manifest
    for manifest in (yaml.safe_load((BASE / name).read_text()) for name in LISTED)
}
TEMPLATE = MANIFESTS["Deployment"]["spec"]["template"]
POD = TEMPLATE["spec"]
(CONTAINER,) = POD["containers"]
ENVIRONMENT = {each["name"]: each["value"] for each in CONTAINER["env"]}
COMPOSE: dict[str, Any] = yaml.safe_load((FOLDER / "compose.yaml").read_text())["services"]
(PORT,) = (each["containerPort"] for each in CONTAINER["ports"])


def test_every_file_of_the_folder_is_listed() -> None:
    assert {path.name for path in BASE.glob("*.yaml")} == {*LISTED, "kustomization.yaml"}


def test_a_pod_is_confined() -> None:
    assert POD["automountServiceAccountToken"] is False
    pod = POD["securityContext"]
    assert pod["runAsNonRoot"] is True
    assert pod["seccompProfile"] == {"type": "RuntimeDefault"}
    user = f"{pod['runAsUser']}:{pod['runAsGroup']}"
    assert f"USER {user}\n" in (FOLDER / "Dockerfile").read_text()
    assert CONTAINER["securityContext"] == {
        "readOnlyRootFilesystem": True,
        "allowPrivilegeEscalation": False,
        "capabilities": {"drop": ["ALL"]},
    }
    mounted = {each["mountPath"]: each.get("readOnly", False) for each in CONTAINER["volumeMounts"]}
    assert [path for path, read_only in mounted.items() if not read_only] == ["/tmp"]


def test_limits_are_those_of_compose() -> None:
    service = COMPOSE["drawmark-1"]
    memory = CONTAINER["resources"]["limits"]["memory"]
    assert memory == service["mem_limit"].replace("m", "Mi")
    (room,) = (each["emptyDir"] for each in POD["volumes"] if "emptyDir" in each)
    assert room == {"medium": "Memory", "sizeLimit": "160Mi"}
    assert service["tmpfs"][0].startswith("/tmp:size=160m,")
    for name in ("DRAWMARK_STREAM_LIMIT", "DRAWMARK_TRUSTED_PROXIES"):
        assert f"{name}={ENVIRONMENT[name]}" in service["environment"]
    config = f"DRAWMARK_CONFIG=${{DRAWMARK_CONFIG:-{ENVIRONMENT['DRAWMARK_CONFIG']}}}"
    assert config in service["environment"]


@pytest.mark.parametrize("missing", [None, "DRAWMARK_TOKENS_FILE", "DRAWMARK_TRUSTED_PROXIES"])
def test_a_pod_starts_only_with_tokens_and_a_proxy(
    missing: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Nothing is bound here: only loopback is listened on in tests.
    monkeypatch.setattr("socket.socket", MagicMock())
    given = {name: value for name, value in ENVIRONMENT.items() if name != missing}
    settings = read_settings(given)
    if missing is None:
        check_address("0.0.0.0", PORT, settings)
    else:
        with pytest.raises(SettingError, match=missing):
            check_address("0.0.0.0", PORT, settings)


def test_files_are_where_the_settings_say() -> None:
    volumes = {each["name"]: each for each in POD["volumes"]}
    sources = {each["mountPath"]: volumes[each["name"]] for each in CONTAINER["volumeMounts"]}
    (club,), (tokens,) = CLUB["configMapGenerator"], CLUB["secretGenerator"]
    config, secret = Path(ENVIRONMENT["DRAWMARK_CONFIG"]), Path(ENVIRONMENT["DRAWMARK_TOKENS_FILE"])
    assert sources[str(config.parent)]["configMap"]["name"] == club["name"]
    assert sources[str(secret.parent)]["secret"]["secretName"] == tokens["name"]
    assert club["files"] == [config.name]
    assert tokens["files"] == [secret.name]
    assert (FOLDER / "club" / config.name).is_file()
    assert [each["name"] for each in CLUB["images"]] == [CONTAINER["image"]]


def test_each_manifest_is_about_these_pods() -> None:
    labels = TEMPLATE["metadata"]["labels"]
    spec = {kind: manifest["spec"] for kind, manifest in MANIFESTS.items()}
    assert spec["Deployment"]["selector"]["matchLabels"] == labels
    assert spec["Service"]["selector"] == labels
    assert spec["PodDisruptionBudget"]["selector"]["matchLabels"] == labels
    assert spec["NetworkPolicy"]["podSelector"]["matchLabels"] == labels
    for spread in POD["topologySpreadConstraints"]:
        assert spread["labelSelector"]["matchLabels"] == labels
    scaled = MANIFESTS["Deployment"]
    assert spec["HorizontalPodAutoscaler"]["scaleTargetRef"] == {
        "apiVersion": scaled["apiVersion"],
        "kind": scaled["kind"],
        "name": scaled["metadata"]["name"],
    }
    # A number in the Deployment would undo the autoscaler's at each `apply`.
    assert "replicas" not in spec["Deployment"]


def test_an_update_or_a_drained_node_takes_no_pod_without_another() -> None:
    updating = MANIFESTS["Deployment"]["spec"]["strategy"]["rollingUpdate"]
    assert updating == {"maxSurge": 1, "maxUnavailable": 0}
    assert MANIFESTS["HorizontalPodAutoscaler"]["spec"]["minReplicas"] > 1
    assert MANIFESTS["PodDisruptionBudget"]["spec"]["maxUnavailable"] == 1


def test_probes_ask_what_needs_no_token() -> None:
    (name,) = (each["name"] for each in CONTAINER["ports"])
    asked = {
        kind: CONTAINER[kind]["httpGet"]["path"]
        for kind in ("startupProbe", "livenessProbe", "readinessProbe")
    }
    assert set(asked.values()) == OPEN_PATHS
    assert asked["readinessProbe"] == "/readyz"
    ports = [CONTAINER[kind]["httpGet"]["port"] for kind in asked]
    ports += [each["targetPort"] for each in MANIFESTS["Service"]["spec"]["ports"]]
    for rule in MANIFESTS["NetworkPolicy"]["spec"]["ingress"]:
        ports += [each["port"] for each in rule["ports"]]
    assert set(ports) == {name}


def test_a_pod_has_time_to_leave_and_to_end() -> None:
    pause = CONTAINER["lifecycle"]["preStop"]["sleep"]["seconds"]
    readiness = CONTAINER["readinessProbe"]
    assert pause > readiness["periodSeconds"]
    server = GunicornServer("127.0.0.1", PORT, Settings(), create_app)
    assert POD["terminationGracePeriodSeconds"] > pause + server.cfg.graceful_timeout


def test_only_who_is_named_reaches_a_pod_and_it_reaches_nobody() -> None:
    policy = MANIFESTS["NetworkPolicy"]["spec"]
    assert policy["policyTypes"] == ["Ingress", "Egress"]
    assert policy["egress"] == []
    ((source,),) = (rule["from"] for rule in policy["ingress"])
    ((name, value),) = source["namespaceSelector"]["matchLabels"].items()
    assert f"{name}={value}" in (BASE / "README.md").read_text()


def test_no_token_comes_along() -> None:
    ignored = (FOLDER.parent / ".gitignore").read_text().splitlines()
    (tokens,) = CLUB["secretGenerator"][0]["files"]
    assert f"/docker/club/{tokens}" in ignored


def test_the_readme_tells_of_every_file() -> None:
    told = re.findall(r"^\| `([\w.-]+\.yaml)` \|", (BASE / "README.md").read_text(), re.M)
    assert sorted(told) == sorted({*LISTED, "kustomization.yaml"})
