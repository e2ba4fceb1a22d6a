"""pages:robots: robots.txt as RFC 9309 has it: a group begins with User-agent, rules follow."""

from urllib import robotparser

import pytest


@pytest.mark.django_db
def test_pages_by_link_are_closed_to_search_engines(client):
    response = client.get("/robots.txt")
    assert response["Content-Type"].startswith("text/plain")
    reader = robotparser.RobotFileParser()
    reader.parse(response.content.decode().splitlines())
    assert not reader.can_fetch("anyone", "/q/some-token/")
    assert not reader.can_fetch("anyone", "/i/some-token/")
