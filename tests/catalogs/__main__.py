"""Write the catalogs anew: what the source no longer says goes, what it says now is added."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from catalogs.catalog_file import told_now, write_catalog
from catalogs.sentences import sentences
from moldgen.language import Language


def main() -> int:
    """Write the catalog of every language, and tell what is still to be translated."""
    found = sentences()
    missing = 0
    for language in Language:
        if language is not Language.EN:
            left = write_catalog(language, found, told_now(language))
            missing += len(left)
            print(f"{language}: {len(found)} sentences, {len(left)} to translate")
            print(*(f"  {words}" for words in left), sep="\n")
    return 1 if missing else 0


if __name__ == "__main__":
    raise SystemExit(main())
