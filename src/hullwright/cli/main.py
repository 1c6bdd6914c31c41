"""Entry point: parse, call the handler, turn errors into words or JSON and an exit code."""

from __future__ import annotations

import importlib
import io
import json
import os
import sys
from argparse import Namespace
from collections.abc import Callable, Sequence
from typing import Any

from hullwright.cli.parser import build
from hullwright.errors import HullwrightError


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    argv : sequence of str, optional
        Arguments without the program's name.

    Returns
    -------
    int
        0 done, 1 the answer is no, 2 the input is wrong.
    """
    words = list(sys.argv[1:] if argv is None else argv)
    parser = build()
    try:
        args = parser.parse_args(words)
    except HullwrightError as error:
        return _say(error, as_json="--json" in words)
    if args.version:
        from importlib.metadata import version  # noqa: PLC0415 - only here, --help must be quick

        print(version("hullwright"))
        return 0
    if not args.command:
        parser.print_help()
        return 2
    module, _, name = args.handler.partition(":")
    handler: Callable[[Namespace], int] = getattr(importlib.import_module(module), name)
    try:
        return handler(args)
    except HullwrightError as error:
        return _say(error, as_json=args.json)


def _say(error: HullwrightError, *, as_json: bool) -> int:
    if as_json:
        emit({"schema": {"name": "error", "version": 1}, "error": error.to_json(), "cautions": []})
    else:
        print(f"hullwright: {error}", file=sys.stderr)
    return error.exit_code


def emit(answer: dict[str, Any]) -> None:
    """Print one JSON object and nothing else."""
    json.dump(answer, sys.stdout, ensure_ascii=False, allow_nan=False, indent=1)
    sys.stdout.write("\n")


def run() -> None:
    """Entry point of the installed command."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding="utf-8", errors="replace")
    try:
        code = main()
        sys.stdout.flush()
    except KeyboardInterrupt:
        print("hullwright: stopped", file=sys.stderr)
        code = 130
    except MemoryError:
        print("hullwright: not enough memory for this", file=sys.stderr)
        code = 3
    except BrokenPipeError:  # the reader (head, less) has gone
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        code = 0
    sys.exit(code)
