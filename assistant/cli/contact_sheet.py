"""The pictures of all exercises on one page, for whoever draws them: `python -m assistant.cli.contact_sheet OUT.html`."""

import sys
from pathlib import Path

from assistant.clients.book import knowledge
from assistant.report.pictures.contact_sheet import contact_sheet


def main() -> int:
    """Write the sheet of the shipped book to the file named."""
    Path(sys.argv[1]).write_text(contact_sheet(knowledge(None, None)), encoding="utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
