"""Verdicts in words, and as signs that differ in shape."""

from __future__ import annotations

from typing import Final

from markupsafe import Markup

WORDS: Final = {
    "stop": ("Stop", "Do not shoot this arrow."),
    "indeterminate": ("Not judged", "Do not shoot this arrow until it can be judged."),
    "caution": ("Caution", "Shoot this arrow only as told below."),
    "pass": ("Pass", "No rule objects. Look at every arrow first."),
}
SIGNS: Final = {
    verdict: Markup(f'<path class="sign" d="{path}"/>')
    for verdict, path in {
        "stop": "M12 2H28L38 12V28L28 38H12L2 28V12ZM13 13L27 27M27 13L13 27",
        "indeterminate": (
            "M20 1L39 20L20 39L1 20ZM15 16C15 10 25 10 25 16C25 20 20 19 20 24M20 29V29.1"
        ),
        "caution": "M20 3L38 36H2ZM20 15V24M20 30V30.1",
        "pass": "M2 20A18 18 0 1 1 38 20A18 18 0 1 1 2 20ZM12 21L18 27L29 14",
    }.items()
}
"""Each in a square of 40."""
