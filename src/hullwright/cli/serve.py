"""``serve``: the page."""

from __future__ import annotations

import importlib
import sys
from argparse import Namespace
from typing import Any

from hullwright.cli.main import emit

FORGETS = """\
Forgetting the authority means:
- This machine can no longer prove to the phones that it is the one they know: their pages can't send until the new authority
  is installed on each of them. Let every phone send its queue first.
- Name and port stay, so nothing that a phone holds is lost: it is sent once the new authority is in.
- Phones go on trusting the old certificate until somebody removes it there. Its key is gone with this, so nobody can misuse it."""


def serve(args: Namespace) -> int:
    """Serve the houses of a folder until Ctrl-C.

    The two screens do not know each other: the service is called by its name, as commands are.
    """
    if args.forget_authority:
        return _forget(args)
    service: Any = importlib.import_module("hullwright.web.serve")
    wish: Any = None
    if args.lan:
        offer: Any = importlib.import_module("hullwright.web.offer")
        wish = offer.Wish(
            args.lan_port,
            args.setup_port,
            args.setup_page,
            tuple(args.lan_address),
            not args.no_announce,
        )

    def say(told: dict[str, Any]) -> None:
        if args.json:
            cautions = told.get("lan", {}).get("cautions", [])
            emit({"schema": {"name": "serve", "version": 1}, **told, "cautions": cautions})
            sys.stdout.flush()  # the command goes on; who reads must not wait for its end
            return
        print(f"houses:  {told['houses']}\nlog:     {told['store']}\npage:    {told['page']}")
        if "lan" in told:
            _say_lan(told["lan"])
        print("Ctrl-C ends it. The address signs in whoever has it: keep it to yourself.", flush=True)

    code: int = service.serve(
        args.folder, port=args.port, open_browser=not args.no_browser, data=args.data, say=say, lan=wish
    )
    return code


def _say_lan(told: dict[str, Any]) -> None:
    print(f"\nphones:  {told['page']}  (after set-up, signed in by an invitation: People on the page)")
    if told["setup"]:
        print(f"set-up:  {told['setup']}  (in clear: only how to set a phone up, and the certificate)\n")
        qr: Any = importlib.import_module("hullwright.app.qr")
        print(qr.text(told["setup"]))
    else:
        print("         a new phone? end this and add --setup-page while it is set up (docs/phones.md)")
    print("fingerprint of the authority (SHA-256), the same must stand on the phone:")
    pairs = told["fingerprint"].split(":")
    for start in range(0, len(pairs), 8):
        print(f"         {':'.join(pairs[start : start + 8])}")
    print(f"         good until {told['until']}")
    for one in told["cautions"]:
        print(f"caution: {one}")
    print()


def _forget(args: Namespace) -> int:
    web: Any = importlib.import_module("hullwright.web.authority")
    lan: Any = importlib.import_module("hullwright.web.lan")
    folder = lan.folder_of(args.data)
    removed = [str(file) for file in web.forget(folder)] if args.yes else []
    if args.json:
        emit(
            {"schema": {"name": "forget-authority", "version": 1}, "folder": str(folder), "removed": removed, "means": FORGETS,
             "cautions": []}
        )  # fmt: skip
        return 0 if args.yes else 1
    print(FORGETS)
    if not args.yes:
        print(f"\nNothing was removed. To remove it from {folder}: hullwright serve --forget-authority --yes")
        return 1
    print("\nRemoved:" if removed else f"\nThere was none in {folder}.")
    for file in removed:
        print(f"  {file}")
    return 0
