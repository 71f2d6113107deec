"""Where the shipped knowledge base is: inside the installed package, or beside it in a checkout."""

from pathlib import Path

from assistant.model.errors import InputProblems, Problem


def rules_directory() -> Path:
    """Return the folder of the shipped rules. Raises InputProblems if the installation lacks it."""
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "_rules", package.parent / "rules"):
        if (folder / "book.yaml").is_file():
            return folder
    text = "the shipped rules are not installed; install the package again, or name a folder"
    raise InputProblems([Problem("rules", "missing-file", text)])
