"""Growth of the club's draws until the sets are looked at again."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Annotated, NotRequired, TypedDict

from drawmark.answers.club.members import ClubArcher
from drawmark.answers.common.answer_types import Length, SourceKey
from drawmark.fitting import fields
from drawmark.fitting.draw.growth_of_draw import growth_of_draw
from drawmark.fitting.draw.height_growth import MONTHS_A_YEAR, estimate_draw_growth
from drawmark.rules.model import Measure


@dataclass(frozen=True, kw_only=True, slots=True)
class Season:
    """Growth that is allowed for archers who state no growth_allowance of their own.

    An archer's own growth rate or age comes before the season's rate.
    """

    months: int = fields.whole(1, 24, "Months until the sets are looked at again.")
    growth_rate: float | None = fields.length(
        0.0,
        0.1,
        "How much longer a draw gets in a year. If left out, the growth of the fastest growing "
        "juniors counts. An archer's own `growth_rate` or `age` comes first.",
        default=None,
    )

    @property
    def growth(self) -> float:
        """How much longer a draw may get in the season [m]."""
        if self.growth_rate is None:
            return self.months * estimate_draw_growth()
        return self.months * self.growth_rate / MONTHS_A_YEAR


def grown(archers: tuple[ClubArcher, ...], season: Season | None) -> tuple[ClubArcher, ...]:
    """Allow the season's growth to archers who state none of their own."""
    return archers if season is None else tuple(_grown(one, season) for one in archers)


def _grown(one: ClubArcher, season: Season) -> ClubArcher:
    if one.archer.growth_allowance is not None:
        return one
    own = growth_of_draw(one.archer, season.months)
    growth = season.growth if own is None else float(own)
    return dataclasses.replace(one, archer=dataclasses.replace(one.archer, growth_allowance=growth))


class SeasonGrowth(TypedDict):
    """How much draws may grow in a season."""

    months: Annotated[int, "Months until the sets are looked at again."]
    growth: Annotated[Length, "Growth of the draw in these months."]
    source: SourceKey


class GrowthAllowed(TypedDict):
    """The growth in an answer."""

    season: NotRequired[Annotated[SeasonGrowth, "Growth that was allowed for."]]


def season_response(season: Season | None) -> GrowthAllowed:
    """Give the growth that was allowed, and where its rate comes from."""
    if season is None:
        return {}
    return {
        "season": {
            "months": season.months,
            "growth": Measure(season.growth, up=True),
            "source": "tanner-davies" if season.growth_rate is None else "request",
        }
    }
