"""pages:robots: robots.txt as RFC 9309 has it: a group begins with User-agent, rules follow."""

from urllib import robotparser

import pytest
from django.urls import get_resolver


@pytest.fixture
def rules(client, db):
    response = client.get("/robots.txt")
    assert response["Content-Type"].startswith("text/plain")
    return response.content.decode().splitlines()


@pytest.mark.parametrize("page", ["/q/some-token/", "/first/some-token/", "/calendar/some-token.ics"])
def test_pages_by_link_are_closed_to_search_engines(rules, page):
    reader = robotparser.RobotFileParser()
    reader.parse(rules)
    assert not reader.can_fetch("anyone", page)


def _ways(inner, name):
    return [route for found in inner.reverse_dict.getlist(name) for route, _ in found[0]]


def test_it_names_the_folders_of_pages_by_link_and_no_other(rules):
    routes = [route for _, inner in get_resolver().namespace_dict.values() for name in inner.reverse_dict for route in _ways(inner, name)]
    by_link = {f"/{route.split('%(token)s')[0]}" for route in routes if "%(token)s" in route}
    assert {line.removeprefix("Disallow: ") for line in rules if line.startswith("Disallow: ")} == by_link
