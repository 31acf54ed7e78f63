"""Members of what is only read: catalogues, health, readiness."""

from __future__ import annotations

from typing import Final

MEANINGS: Final[dict[str, str]] = {
    "rules": "The rules.",
    "rules.title": "What it is about, in a sentence.",
    "needs": "Fields of the request without which it is not run; `|` where one of several will do.",
    "gives": "What it may say.",
    "rules.source": "Where it comes from; may be empty.",
    "plugins": "The plugins.",
    "plugins.rules": "Their rules.",
    "plugins.status": "A plugin that failed to load is `failed`, and `error` says why.",
    "error": "Why it failed to load; else empty.",
    "rulesets": "The rule sets.",
    "rulesets.ruleset": "Its name, which a request may state.",
    "rulesets.title": "What it is for.",
    "default": "It holds for requests that name none.",
    "settings": "Settings of the plugin, as texts.",
    "missing": "Plugins that are listed and not active.",
    "missing.reason": "Why.",
    "units": "The units.",
    "unit": "Its symbol on the wire.",
    "units.name": "Its name.",
    "dimension": "What it measures.",
    "si_factor": "One of it in SI units.",
    "reciprocal": "It measures the inverse: SI is the factor over the figure.",
    "decimals": "Decimals of figures in answers.",
    "units.fields": "Fields that take it, and their ranges in it.",
    "least": "Least figure that is accepted.",
    "greatest": "Greatest figure that is accepted.",
    "sources": "The sources.",
    "sources.source": "Key by which answers name it.",
    "mark": "How well it is known: `read`, `secondary`, from `memory`, `derived`, common "
    "`practice`, or the project's `default`; the last two have no source.",
    "text": "What it is.",
    "healthz.status": "`alive`.",
    "readyz.status": "`ready`, or `not_ready` where a required plugin is not active.",
    "version": "Version of the service.",
    "plugins.version": "Its version.",
    "revision": "Revision that was built; may be empty.",
    "configuration": "`stale` where files were to be read again and had a fault: what was in "
    "force before stays.",
}
