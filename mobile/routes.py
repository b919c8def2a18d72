"""Which screen a route shows. Screens are named here, not imported: each is when it is first shown."""

from __future__ import annotations

import re
from importlib import import_module

from .shell import Screen

__all__ = ["HOME", "ROUTES", "found", "screen_class"]

HOME = "home:Home"
#: route pattern -> "module:Class" in mobile.screens; the last takes every step that has no screen of its own
ROUTES = (
    (r"/", HOME),
    (r"/(?P<aim>quick)", HOME),
    (r"/new(?:/(?P<quick>quick))?", "intake:Intake"),
    (r"/more", "more:More"),
    (r"/terms", "terms:Terms"),
    (r"/tour", "tour:Tour"),
    (r"/checked", "checked:Checked"),
    (r"/access", "access:Access"),
    (r"/files", "files:Files"),
    (r"/kit", "kit:Kit"),
    (r"/kit/(?P<id>[0-9a-z]+)", "kit:Card"),
    (r"/kit/(?P<id>[0-9a-z]+)/record", "record:Record"),
    (r"/kit/(?P<id>[0-9a-z]+)/straight", "record:Straight"),
    (r"/job/(?P<id>[0-9a-z]+)", "job:Job"),
    (r"/job/(?P<id>[0-9a-z]+)/details", "intake:Intake"),
    (r"/job/(?P<id>[0-9a-z]+)/log", "log:Log"),
    (r"/job/(?P<id>[0-9a-z]+)/report", "report:Report"),
    (r"/job/(?P<id>[0-9a-z]+)/bores(?:/(?P<cylinder>[0-9]+))?", "grid:Grid"),
    (r"/job/(?P<id>[0-9a-z]+)/earlier", "earlier:Earlier"),
    (r"/job/(?P<id>[0-9a-z]+)/gauge", "gauge:Gauge"),
    (r"/job/(?P<id>[0-9a-z]+)/visit(?:/(?P<back>[a-z]+))?", "visit:Visit"),
    (r"/job/(?P<id>[0-9a-z]+)/renew(?:/(?P<back>[a-z]+))?", "visit:Renewed"),
    (r"/job/(?P<id>[0-9a-z]+)/(?P<step>cut|hone)(?:/(?P<cylinder>[0-9]+))?", "bench:Bench"),
    (r"/job/(?P<id>[0-9a-z]+)/(?P<step>[a-z]+)(?:/(?P<cylinder>[0-9]+))?", "step:Step"),
)


#: Screens that make sense where nothing can be stored.
WITHOUT_STORE = frozenset((HOME, "terms:Terms", "checked:Checked", "access:Access"))


def found(route: str) -> tuple[str, dict[str, str]]:
    """("module:Class", what the route names) of the screen for ``route``; the first screen where no pattern fits."""
    route = "/" + route.strip("/").split("?")[0]
    for pattern, name in ROUTES:
        match = re.fullmatch(pattern, route)
        if match:
            return name, match.groupdict()
    return HOME, {}


def screen_class(name: str) -> type[Screen]:
    """The class that "module:Class" names."""
    module, _, cls = name.partition(":")
    made: type[Screen] = getattr(import_module(f"mobile.screens.{module}"), cls)
    return made
