"""The verbs that build the offline folder and serve it."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from .build import ROOT, BuildError, Built, build
from .certificate import make_certificate
from .server import Server, addresses, qr
from .terminal import DONE, InputError, print_data, print_out, tell

__all__ = ["run_build", "run_serve"]


def _build(given: argparse.Namespace) -> Built:
    try:
        return build(given.folder, say=lambda words: tell(f"{words} …"))
    except BuildError as error:
        raise InputError(str(error)) from None


def run_build(given: argparse.Namespace) -> int:
    made = _build(given)
    about = {
        "folder": str(made.folder),
        "version": made.version,
        "built": made.built,
        "files": made.files,
        "bytes": made.raw_bytes,
        "bytes_sent": made.sent_bytes,
        "fresh": made.fresh,
    }
    if given.json:
        print_data(about)
    else:
        state = "built" if made.fresh else "up to date"
        print_out(
            f"{made.folder} is {state}: version {made.version}, {made.files} files, {made.sent_bytes / 1e6:.1f} MB to fetch at a first visit."
        )
    return DONE


def run_serve(given: argparse.Namespace) -> int:
    folder = Path(given.folder or ROOT / "build" / "web") if given.no_build else _build(given).folder
    names = addresses(given.host)
    certificate = _certificate(given, names)
    try:
        server = Server(folder, given.host, given.port, certificate=certificate, loud=given.log)
    except FileNotFoundError as error:
        raise InputError(f"{error}. Run 'boreside build' first.") from None
    except OSError as error:
        raise InputError(f"Cannot serve on {given.host} port {given.port}: {error.strerror or error}.") from None
    _announce(given, names, server.port, certificate)
    print_out("Stop with Ctrl+C.")
    sys.stdout.flush()
    try:
        server.serve_forever()
    except KeyboardInterrupt:
        print_out("")
    finally:
        server.server_close()
    return DONE


def _announce(
    given: argparse.Namespace, names: Sequence[str], port: int, certificate: tuple[Path, Path] | None
) -> None:
    """Say where the app is served, and what a phone needs to keep it."""
    scheme = "https" if certificate else "http"
    urls = [f"{scheme}://{f'[{n}]' if ':' in n else n}:{port}/" for n in names]
    print_out(qr(urls[-1]))
    for url in urls:
        print_out(f"Boreside is at {url}")
    if certificate and not given.cert:
        print_out(
            f"The certificate is self-made. A browser warns of it until {certificate[0].with_name('boreside.crt')} is installed on the phone; it can vouch for these addresses only."
        )
    elif not certificate and given.host not in ("127.0.0.1", "localhost", "::1"):
        print_out(
            "Over plain http a phone can open the app but not keep it for work without signal: that needs https (--tls)."
        )


def _certificate(given: argparse.Namespace, names: Sequence[str]) -> tuple[Path, Path] | None:
    """The certificate and key to serve with: those named, one made here, or none."""
    if bool(given.cert) != bool(given.key):
        raise InputError("--cert and --key go together: name both files, or neither.")
    if given.cert:
        return Path(given.cert), Path(given.key)
    if not given.tls:
        return None
    return make_certificate(ROOT / "build" / "tls", list(names))
