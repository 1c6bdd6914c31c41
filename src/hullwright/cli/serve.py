"""``serve``: the page."""

from __future__ import annotations

import importlib
import sys
from argparse import Namespace
from typing import Any

from hullwright.cli.main import emit


def serve(args: Namespace) -> int:
    """Serve the houses of a folder until Ctrl-C.

    The two screens do not know each other: the service is called by its name, as commands are.
    """
    service: Any = importlib.import_module("hullwright.web.serve")

    def say(told: dict[str, str]) -> None:
        if args.json:
            emit({"schema": {"name": "serve", "version": 1}, **told, "cautions": []})
            sys.stdout.flush()  # the command goes on; who reads must not wait for its end
            return
        print(f"houses:  {told['houses']}\nlog:     {told['store']}\npage:    {told['page']}")
        print("Ctrl-C ends it. The address signs in whoever has it: keep it to yourself.", flush=True)

    code: int = service.serve(
        args.folder, port=args.port, open_browser=not args.no_browser, data=args.data, say=say
    )
    return code
