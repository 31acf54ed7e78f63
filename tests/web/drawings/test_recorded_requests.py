"""Every recorded request that has a drawing or a paper gets one, or the problem that JSON gets."""

from __future__ import annotations

import pytest

from corpus.asked import all_requests
from corpus.record import CLUB
from drawmark.web import create_app
from drawmark.web.settings import Settings
from drawmark.web.wire.accept import DRAWN, SVG
from web.drawings.pictures import Picture, overlaps
from web.drawings.test_papers import Paper


@pytest.mark.soak
@pytest.mark.parametrize("path", sorted(DRAWN))
def test_every_request_is_drawn_or_refused_alike(path):
    client = create_app(Settings(config=str(CLUB), log_requests=False)).test_client()
    asked = [one for one in all_requests() if one.path == f"/v1/{path}"]
    assert len(asked) > 100
    for one in asked:
        headers = {name: text for name, text in one.headers.items() if name != "Accept"}
        plain = client.post(one.path, data=one.body, headers=headers)
        for kind in DRAWN[path]:
            reply = client.post(one.path, data=one.body, headers={**headers, "Accept": kind})
            assert reply.status_code == plain.status_code, one.body
            if reply.status_code != 200:
                assert reply.data == plain.data
            elif kind == SVG:
                assert list(overlaps(Picture(reply.data))) == [], one.body
            else:
                assert "Drawmark" in Paper(reply.text).words
