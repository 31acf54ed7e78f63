"""One request for each operation: invented archers, shown in the document and run by tests."""

from __future__ import annotations

from typing import Any, Final

from drawmark.web.document.examples import checks, cutting, kit

__all__ = ["EXAMPLES"]
EXAMPLES: Final[dict[str, dict[str, Any]]] = {**checks.EXAMPLES, **cutting.EXAMPLES, **kit.EXAMPLES}
