"""Images and containers broken on purpose: a check that lets one pass is itself broken."""

from checking import container, content, image, service
from checking.host import Host
from checking.outcome import require_caught, step

IGNORES = "import signal; signal.signal(signal.SIGTERM, signal.SIG_IGN); "
DROPS = "import os, signal; signal.signal(signal.SIGTERM, lambda *_: os._exit(0)); "
SERVES = "import subprocess; subprocess.run('drawmark serve --host 0.0.0.0 --port 8000'.split())"


def check_faults(host: Host) -> None:
    """Require each deliberate fault to be caught by the check meant for it."""
    with step("fault caught, an image whose user is root") as said:
        root = image.derive(host, "root", "USER 0:0")
        said.append(require_caught(lambda: image.check_user(host, root), "runs as root"))
        with container.running(host, root, "root") as broken:
            require_caught(lambda: container.check_confined(broken), "runs as root")

    with step("fault caught, a file that the build left") as said:
        stained = image.derive(host, "stained", "USER 0:0", 'RUN ["touch", "/root/left"]')
        base, found = (content.read_image(host, each, "root") for each in (image.BASE, stained))
        said.append(require_caught(lambda: content.check_base(found, base), "/left"))

    with step("fault caught, an image without a health check") as said:
        mute = image.derive(host, "mute", "HEALTHCHECK NONE")
        said.append(
            require_caught(lambda: image.check_health_declared(host, mute), "no health check")
        )

    with step("fault caught, a service that does not answer") as said:
        idle = image.derive(host, "idle", "ENTRYPOINT []", 'CMD ["sleep", "60"]')
        with container.running(host, idle, "idle") as broken:
            said.append(require_caught(lambda: container.check_healthy(broken), "not healthy"))

    with step("fault caught, a root file system that can be written to") as said:
        loose = tuple(flag for flag in container.CONFINED if not flag.startswith("--read-only"))
        with container.running(host, image.IMAGE, "loose", loose) as broken:
            said.append(require_caught(lambda: container.check_read_only(broken), "can write to"))

    with (
        step("fault caught, capabilities and privileges kept") as said,
        container.running(host, image.IMAGE, "kept", container.CONFINED[:2]) as broken,
    ):
        said.append(require_caught(lambda: container.check_confined(broken), "capabilities"))

    for name, first, reason in (
        ("a process that ignores SIGTERM", IGNORES, "not 0"),
        ("a process that ends at SIGTERM with requests in hand", DROPS, "accepted connection"),
    ):
        with step(f"fault caught, {name}") as said:
            line = f'ENTRYPOINT ["python", "-c", "{first + SERVES}"]'
            deaf = image.derive(host, "deaf", line, "CMD []")
            with container.running(host, deaf, "deaf") as broken:
                container.wait_until_healthy(broken)
                said.append(require_caught(lambda: service.check_stop(broken, 3), reason))
