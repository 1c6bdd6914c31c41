"""Write the OpenAPI document for the front end: ``python -m hullwright.web.openapi [FILE]``."""

from __future__ import annotations

import json
import sys
import tempfile
from pathlib import Path

from hullwright.web.api import create, document
from hullwright.web.service import make

FILE = Path(__file__).resolve().parents[3] / "web" / "openapi.json"


def text() -> str:
    """Give the document as it is kept: sorted keys, one line each."""
    with tempfile.TemporaryDirectory(prefix="hullwright-") as folder:
        service = make(Path(folder), folder, 8765, "key", apart=False)
        try:
            found = document(create(service))
        finally:
            service.close()
    return json.dumps(found, indent=1, sort_keys=True, ensure_ascii=False) + "\n"


def main() -> int:
    """Write it."""
    file = Path(sys.argv[1]) if len(sys.argv) > 1 else FILE
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text(), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
