"""Whether Firefox and WebKit can be driven on this machine, and what Debian calls what is needed.

Only the standard library is used here: the test command asks before anything is installed.
"""

from __future__ import annotations

import shutil
from pathlib import Path

__all__ = ["PACKAGES", "firefox", "lacking", "mini_browser"]

#: Debian's packages for each.
PACKAGES = {"firefox": ("firefox-esr",), "webkit": ("webkit2gtk-driver", "xvfb")}


def firefox() -> str | None:
    return next(filter(None, map(shutil.which, ("firefox-esr", "firefox"))), None)


def mini_browser() -> Path | None:
    """WebKit's own small browser lies among the libraries."""
    found = [p for top in ("/usr/lib", "/usr/libexec") for p in Path(top).glob("**/webkit2gtk-4.1/MiniBrowser")]
    return found[0] if found else None


def lacking(name: str) -> str:
    """Why this engine cannot be driven here, as one sentence; "" where it can."""
    if name == "firefox":
        return "" if firefox() else "no Firefox on this machine (Debian: apt-get install firefox-esr)"
    there = shutil.which("WebKitWebDriver") and shutil.which("Xvfb") and mini_browser()
    return "" if there else "no WebKit on this machine (Debian: apt-get install webkit2gtk-driver xvfb)"
