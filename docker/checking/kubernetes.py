"""The manifests for Kubernetes: rendered, held against its schemas, and run by podman."""

import json
import os
import re
import shutil
import signal
import socket
import textwrap
import time
from base64 import b64decode
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from typing import Any

from checking.container import Container, check_confined, check_read_only
from checking.host import PAUSE, Host
from checking.image import IMAGE, derive
from checking.outcome import CheckError, require, require_caught, run, step
from checking.service import check_fit, check_stop, new_token

VERSIONS = ("1.30", "1.37")
"""The oldest version that README.md names, and a new one."""
MISSPELT = {
    "readOnlyRootFilesystem": "readOnlyRootFileSystem",
    "targetPort": "targetport",
    "averageUtilization": "averageUtilisation",
    "unhealthyPodEvictionPolicy": "unhealthyPodEviction",
    "namespaceSelector": "namespacesSelector",
}
"""A field of each kind of manifest, and how one might misspell it."""
PROBES = ("startupProbe", "livenessProbe", "readinessProbe")
NAME = "drawmark"
LEASES = Path("/var/lib/cni/networks/podman-default-kube-network")
"""Where an engine of Debian 12 notes the addresses it gave to pods."""

Manifest = dict[str, Any]


def check_kubernetes(host: Host, top: Path) -> None:
    """Require that the manifests are well formed, and that what they describe runs."""
    token, line = new_token(host)
    folder = host.work / "docker"
    for name in ("kubernetes", "club"):
        # A maintainer's own file of tokens stays where it is.
        others = shutil.ignore_patterns("tokens")
        shutil.copytree(top / "docker" / name, folder / name, ignore=others)
    with step("kubernetes: manifests rendered, and held against the published schemas") as said:
        require_caught(lambda: _render(host, folder), "tokens")
        (folder / "club" / "tokens").write_text(line)
        rendered = _render(host, folder)
        for version in VERSIONS:
            _validate(host, rendered, version)
        manifests = _read(host, rendered)
        said.append(", ".join(sorted(manifests)))
        _check_patch(host, folder)
    with step("fault caught, a misspelt field in a manifest") as said:
        said.append(_check_misspelt(host, rendered))
    name = "kubernetes: a pod answers at the Service's port, starts again if killed, ends in grace"
    with step(name) as said, _playing(host, manifests) as (pod, port):
        _wait_until_ready(port, pod)
        for probe in PROBES:
            path = _container_of(manifests["Deployment"])[probe]["httpGet"]["path"]
            require(_ask(port, path) == 200, f"{probe} would fail")
        check_confined(pod, processes=None)
        check_read_only(pod)
        require(_ask(port, "/v1/rules") == 401, "it answers without a token")
        allowed = {"Authorization": f"Bearer {token}"}
        said.append(check_fit(HTTPConnection("127.0.0.1", port, timeout=20), allowed))
        _check_restart(pod)
        _wait_until_ready(port, pod)
        grace = _pod_of(manifests["Deployment"])["terminationGracePeriodSeconds"]
        said.append(check_stop(pod, grace, allowed))


def _render(host: Host, folder: Path) -> str:
    """Give what `kubectl apply -k` sends to a cluster."""
    return run([host.kubectl, "kustomize", folder / "club"])


def _keep(host: Host, rendered: str) -> Path:
    file = host.work / "rendered.yaml"
    file.write_text(rendered)
    return file


def _validate(host: Host, rendered: str, version: str) -> None:
    file = _keep(host, rendered)
    run([host.tool("kubernetes-validate"), "--strict", "--kubernetes-version", version, file])


def _read(host: Host, rendered: str) -> dict[str, Manifest]:
    """Give the manifests by kind; the tools' environment knows YAML, the host may not."""
    program = "import json, sys, yaml; print(json.dumps([*yaml.safe_load_all(open(sys.argv[1]))]))"
    manifests = json.loads(run([host.tool("python"), "-c", program, _keep(host, rendered)]))
    return {manifest["kind"]: manifest for manifest in manifests}


def _check_patch(host: Host, folder: Path) -> None:
    """Require that a setting can be added as README.md shows."""
    readme = (folder / "kubernetes" / "README.md").read_text()
    (shown,) = re.findall(r"^    patches:\n(?:    .*\n)+", readme, re.M)
    kustomization = folder / "club" / "kustomization.yaml"
    before = kustomization.read_text()
    kustomization.write_text(before + textwrap.dedent(shown))
    patched = _render(host, folder)
    kustomization.write_text(before)
    environment = _container_of(_read(host, patched)["Deployment"])["env"]
    added = {"name": "DRAWMARK_RATE_LIMIT", "value": "20"}
    require(added in environment, f"the patch of README.md gives {environment}")
    changed = {"name": "DRAWMARK_STREAM_LIMIT", "value": "16777216"}
    names = [each["name"] for each in environment]
    require(changed in environment and len({*names}) == len(names), f"it gives {environment}")


def _check_misspelt(host: Host, rendered: str) -> str:
    """Require that a field of another name is found in each manifest that has one."""
    for field, misspelt in MISSPELT.items():
        require(f"{field}:" in rendered, f"no manifest has {field}")
        rendered = rendered.replace(f"{field}:", f"{misspelt}:")
    try:
        _validate(host, rendered, VERSIONS[-1])
    except CheckError as fault:
        missed = [misspelt for misspelt in MISSPELT.values() if misspelt not in str(fault)]
        require(not missed, f"not found: {missed}\n{fault}")
        return ", ".join(MISSPELT.values())
    raise CheckError("not caught")


def _pod_of(deployment: Manifest) -> Manifest:
    pod: Manifest = deployment["spec"]["template"]["spec"]
    return pod


def _container_of(deployment: Manifest) -> Manifest:
    (container,) = _pod_of(deployment)["containers"]
    return dict(container)


def _adapt(manifests: dict[str, Manifest], port: int) -> list[Manifest]:
    """Give what podman runs of the manifests, with what Debian 12's lacks replaced.

    It has no Service, asks probes with curl, which the image has not, and mounts a Secret's values
    without decoding them.
    """
    deployment = json.loads(json.dumps(manifests["Deployment"]))
    pod = _pod_of(deployment)
    (container,) = pod["containers"]
    container["image"] = IMAGE
    for probe in PROBES:
        del container[probe]
    (place,) = container["ports"]
    (service,) = manifests["Service"]["spec"]["ports"]
    require(service["targetPort"] == place["name"], "the Service leads to another port")
    place |= {"hostIP": "127.0.0.1", "hostPort": port}
    for volume in pod["volumes"]:
        if "secret" in volume:
            volume["configMap"] = {"name": volume.pop("secret")["secretName"]}
    secret = manifests["Secret"]
    decoded = {name: b64decode(value).decode() for name, value in secret["data"].items()}
    tokens = secret | {"kind": "ConfigMap", "data": decoded}
    return [manifests["ConfigMap"], tokens, deployment]


@contextmanager
def _playing(host: Host, manifests: dict[str, Manifest]) -> Iterator[tuple[Container, int]]:
    """Run the pod, and give its container and the port at which it answers on loopback."""
    still = ('ENTRYPOINT ["sleep", "infinity"]', "CMD []", "HEALTHCHECK NONE", "STOPSIGNAL SIGKILL")
    require(derive(host, "pause", *still) == PAUSE, "the engine's settings name another image")
    with socket.create_server(("127.0.0.1", 0)) as probe:
        port: int = probe.getsockname()[1]
    file = host.work / "pod.yaml"
    file.write_text("\n---\n".join(map(json.dumps, _adapt(manifests, port))))
    # Pods of others on this host have theirs in the same folder.
    others = LEASES.exists()
    try:
        host.podman("kube", "play", file)
        names = host.podman("ps", f"--filter=name=-{NAME}$", "--format={{.Names}}").split()
        require(len(names) == 1, f"{len(names)} containers")
        yield Container(host=host, name=names[0]), port
    finally:
        host.podman("pod", "rm", "--all", "--force", "--time=1")
        if not others:
            shutil.rmtree(LEASES, ignore_errors=True)


def _ask(port: int, path: str) -> int:
    """Give the status of an answer, or 0 where there is none."""
    caller = HTTPConnection("127.0.0.1", port, timeout=20)
    try:
        caller.request("GET", path)
        return caller.getresponse().status
    except (OSError, HTTPException):
        return 0
    finally:
        caller.close()


def _wait_until_ready(port: int, pod: Container, seconds: float = 30) -> None:
    end = time.monotonic() + seconds
    while _ask(port, "/readyz") != 200:
        require(time.monotonic() < end, "not ready in time:\n" + pod.read_log())
        time.sleep(0.1)


def _check_restart(pod: Container, seconds: float = 30) -> None:
    """Require that the container is started again when its first process is killed."""
    os.kill(int(pod.process.name), signal.SIGKILL)
    end = time.monotonic() + seconds
    while pod.inspect()["RestartCount"] == 0:
        require(time.monotonic() < end, "was not started again")
        time.sleep(0.1)
