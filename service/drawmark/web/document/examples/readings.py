"""What is only read, in part: an entry of each catalogue, health, first lines of the rest."""

from __future__ import annotations

from typing import Any, Final

from drawmark import __version__

EXAMPLES: Final[dict[str, Any]] = {
    "rules": {
        "rules": [
            {
                "plugin": "core",
                "rule": "shaft-diameter",
                "kind": "core",
                "title": "Shaft diameter for competition.",
                "rulesets": ["default"],
                "needs": ["arrow.shaft.outside_diameter"],
                "gives": ["finding"],
                "source": "wa-shaft-diameter",
            }
        ]
    },
    "plugins": {
        "plugins": [
            {
                "plugin": "core",
                "version": __version__,
                "status": "active",
                "error": "",
                "rules_off": [],
                "rules": ["minimum-length", "shaft-behind-back"],
                "deprecated": [],
            }
        ]
    },
    "rulesets": {
        "rulesets": [
            {
                "ruleset": "default",
                "title": "The core's rules and all plugins that need no settings",
                "default": True,
                "plugins": [{"plugin": "core", "version": __version__, "settings": {}}],
                "missing": [],
            }
        ]
    },
    "units": {
        "units": [
            {
                "unit": "g/m",
                "name": "gram per metre",
                "dimension": "mass_per_length",
                "si_factor": 0.001,
                "reciprocal": False,
                "decimals": 3,
                "fields": [
                    {"field": "arrow.shaft.mass_per_length", "least": 1.0, "greatest": 80.0}
                ],
            }
        ]
    },
    "sources": {
        "sources": [
            {
                "source": "amo-draw-length",
                "mark": "read",
                "text": "AMO Standards, Field Publication FP-3 (2000): draw length is the distance "
                "at full draw from the nocking point to the pivot point of the grip, plus 1 3/4 "
                "in.",
            }
        ]
    },
    "healthz": {"status": "alive", "version": __version__},
    "readyz": {
        "status": "ready",
        "version": __version__,
        "revision": "",
        "configuration": "current",
        "plugins": [
            {
                "plugin": "core",
                "version": __version__,
                "status": "active",
                "error": "",
                "rules_off": [],
            }
        ],
        "missing": [],
    },
    "metrics": "# HELP drawmark_requests_total Requests answered; a batch is one.\n"
    "# TYPE drawmark_requests_total counter\n",
    "openapi": {
        "openapi": "3.1.0",
        "info": {"title": "Drawmark", "version": "1.0.0"},
    },
    "docs": '<!doctype html><html lang="en">',
}
