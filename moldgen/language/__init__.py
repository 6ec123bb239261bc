"""What people read, in their language: sentences composed in English, turned where they are read.

As lengths are turned into inches where they leave the program, sentences are turned into another
language there. A catalog holds templates: the sentence of the source with a name for each value.
A text is read back by the template it was made from, and its values are turned in the same way.
"""

from moldgen.language.languages import Language, language_now, language_of, preferred, speak
from moldgen.language.told import as_written, in_words, translated

__all__ = [
    "Language",
    "as_written",
    "in_words",
    "language_now",
    "language_of",
    "preferred",
    "speak",
    "translated",
]
