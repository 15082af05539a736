"""A post script that asks before it hands the program on: ``python post_hook.py PROGRAM``.

Put `stillstock_client.py` beside this file. A post script inside another program calls `ask` with what it knows of its
own (tools, nominal stock) and raises an error there if the text that comes back is not empty.
"""

import os
import sys
from typing import Any, Dict, Optional

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), os.pardir))

import stillstock_client


def ask(program_path: str, known: Optional[Dict[str, Any]] = None) -> str:
    """Return why the program must not run, or nothing if the stock will stay still."""
    url = os.environ.get("STILLSTOCK_URL", stillstock_client.DEFAULT_URL)
    client = stillstock_client.Client(url)
    result = stillstock_client.gate(program_path, client=client, request=known)
    print("\n".join([result.summary, *result.lines]))
    return result.summary if result.code else ""


if __name__ == "__main__":
    sys.exit(1 if ask(sys.argv[-1]) else 0)
