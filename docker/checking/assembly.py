"""compose.yaml, run for real."""
from pathlib import Path
from checking.host import Host
def check_assembly(host: Host, top: Path) -> None:
    """."""
