"""Members of answers about lengths, spine, balance and fit, and of what all answers carry."""

from __future__ import annotations

from typing import Final

MEANINGS: Final[dict[str, str]] = {
    # What every answer carries
    "cautions": "What whoever handles the arrow must know; to be shown.",
    "unevaluated": "Rules that should have spoken and could not: their floors may be missing.",
    "not_checked": "What was not checked, and the fields that would allow it.",
    "not_told": "What no figure can tell; look at it.",
    "rules_applied": "Plugins in force.",
    "ruleset": "The rule set in force.",
    "engine": "What computed this.",
    "name": "Its name.",
    "version": "Its version.",
    "plugin": "The plugin; `core` for the service's own rules.",
    "rule": "The rule, of that plugin.",
    "what": "What it would say.",
    "fields": "Fields of the request, by path: given and at fault, or missing.",
    "source": "Key of the source in `/v1/sources`, `request`, or a plugin's own words.",
    "NotChecked.fields": "Fields of the request, by path, that would allow it: all of them, and of "
    "those with `|` between them any one. Empty where none would.",
    "unevaluated.reason": "Why it could not.",
    "assumptions": "What was assumed of fields that are missing or were left aside.",
    "field": "Path of the field.",
    "assumed": "What was assumed.",
    "derivation": "How the figures came about.",
    "figure": "Path of the figure in this answer.",
    "term": "What is added.",
    "value": "How much.",
    # Lengths
    "status": "`determinate` where every rule that may set a floor was evaluated; else "
    "`indeterminate`, and `unevaluated` names those that were not.",
    "minimum": "Minimum safe arrow length: a shorter arrow must not be drawn. Rounded up. Only "
    "where `status` is `determinate`.",
    "minimum_at_least": "In place of `minimum` where a floor may be missing: an arrow shorter than "
    "this must not be drawn, and one no shorter is not thereby safe.",
    "minimum_on_saw": "The first multiple of `saw_increment` that is no shorter than `minimum`; "
    "left out where there is `minimum_at_least`.",
    "minimum_without_clicker": "Minimum of an arrow that does not reach the clicker: one that is "
    "too long for it must be at least so long.",
    "minimum_without_clicker_at_least": "In its place where a floor may be missing.",
    "recommended": "Recommended arrow length; left out where the window is empty.",
    "window": "Recommended lengths; left out where none is both safe and usual, or in reach.",
    "shortest": "Shortest of them.",
    "longest": "Longest of them.",
    "nearest_safe_blade": "Least distance of the clicker's blade from the pivot point at which an "
    "arrow that reaches it is long enough.",
    "floors": "Lengths below which an arrow is not safe, the largest first; it is the minimum.",
    "id": "Name of the floor.",
    "length": "Arrow length: bottom of the nock slot to the shaft's front end.",
    "Floor.length": "Arrow length that it asks for.",
    "Floor.reason": "Why.",
    "terms": "What it is the sum of.",
    "draw_control": "What ends the draw.",
    "claimed": "As the request says.",
    "counts": "As it counts.",
    "missing": "Fields that the claim lacks; none where they are given and refute it.",
    "allowance": "Allowed for the spread of the draw.",
    "estimated_draw": "The draw is an estimate from the arm span.",
    "draw_length_convention": "Convention in which draws are given here.",
    "advice": "What to do with the arrow at hand, or with a new shaft.",
    "advice_reason": "Why.",
    "FitCheckAnswer.advice": "Where the window is empty.",
    "FitCheckAnswer.advice_reason": "What would have to be changed.",
    "checked_length": "Length at which the fit check was asked: where a cut to the recommended "
    "length was thought of, or of a new shaft, that; else the arrow's own.",
    "RecommendedLengthAnswer.verdict": "Verdict of the fit check there.",
    "RecommendedLengthAnswer.findings": "What decides it.",
    "longest_safe_draw": "How far this arrow may be drawn, in `draw_length_convention`. "
    "Rounded down.",
    "FitCheckAnswer.longest_safe_draw": "How far this arrow may be drawn, rounded down; where a "
    "clicker ends this archer's draw, some that are shorter may not be safe.",
    "longest_safe_draw_at_most": "In its place where it may be less: a floor may be missing, or "
    "rules leave every draw in doubt.",
    "limits": "Floors at that draw, the largest first.",
    "LongestDrawAnswer.findings": "What stops a longer draw that the arrow's length would allow, "
    "or leaves it in doubt.",
    "LongestDrawAnswer.reason": "Why there is no such draw.",
    # Fit
    "verdict": "Worst of what the rules found, in this order: `stop`, the arrow must not be shot; "
    "`indeterminate`, it could not be told, so not to be shot either until it can; `caution`, only "
    "with what the findings ask for; `pass`, no figure speaks against it.",
    "findings": "What the rules found, the worst first.",
    "severity": "What it does to the verdict; a `note` does nothing.",
    "message": "What was found, in a sentence.",
    "measured": "The figure that was judged.",
    "limit": "The limit it was judged by.",
    "past_back_per_thousand": "Expected shots in a thousand whose shaft ends behind the back of "
    "the bow.",
    "off_rest_per_thousand": "Expected shots in a thousand whose shaft ends behind the rest.",
    "odds_remark": "What these two numbers stand on.",
    "items": "One for each item of the request, in order.",
    "index": "Place in the request, from 0.",
    "items.id": "The item's own `id`.",
    "items.status": "Status that this item would have had alone.",
    "result": "Its answer.",
    "problem": "Its problem, in place of an answer.",
    # Spine and balance
    "before": "The arrow as it is.",
    "after": "The arrow with what is changed.",
    "steps": "The arrow after each cut.",
    "mass": "Mass of the arrow.",
    "static_spine": "Static spine of the shaft; a cut does not change that of a uniform shaft.",
    "first_bending_frequency": "Frequency of its first free bending vibration.",
    "own_length_deflection": "Deflection under the load of 1.94 lb at the middle of a span as "
    "long as the arrow.",
    "equivalent_static_spine": "Static spine that an arrow of the original length and masses "
    "would need to act alike: two measures, no average.",
    "free_vibration": "By the frequency of free vibration.",
    "launch": "By the critical launch force.",
    "critical_launch_force": "Push at the nock at which the arrow would buckle.",
    "launch_load": "Draw weight over critical launch force.",
    "front_of_centre": "Balance point ahead of the middle of the arrow, in per cent of its length.",
    "front_of_centre_range": "Where the point's own centre is not known.",
    "low": "Lower end.",
    "high": "Upper end.",
    "draw_weight_shift": "By the trade's rule: positive suits a heavier bow. A cross-check.",
    "draw_weight_shift_source": "Key of its source.",
    "restoring_point_mass": "Point mass that gives the changed arrow the equivalent spine of "
    "before.",
    "point_mass": "The point's mass.",
    "free_vibration.reason": "Why there is none, or what to know of it.",
    "launch.reason": "Why there is none, or what to know of it.",
    "point_mass_for_wanted.reason": "Why there is none, or what to know of it.",
    "balance_point": "Distance of the balance point from the bottom of the nock slot.",
    "mass_of_parts": "Sum of the parts, beside a weighed mass.",
    "parts": "What the arrow is made of.",
    "parts.name": "Which part.",
    "parts.mass": "Its mass.",
    "centre": "Distance of its centre of mass from the bottom of the nock slot.",
    "point_mass_for_wanted": "Point mass for the wanted front of centre.",
    "after_cut": "The same after the cut.",
    # Problems
    "type": "`about:blank`: the title says it all.",
    "title": "Words of the status.",
    "Problem.status": "Status of HTTP.",
    "detail": "What is wrong, in a sentence.",
    "errors": "Each fault of the request.",
    "pointer": "JSON pointer to it, as a fragment.",
    "state": "State of the service, where that is the problem.",
}
