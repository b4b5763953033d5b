"""The error family: one base, subclasses by what went wrong.

Conventions: a message says *what* happened, *where*, and the *cure*, in one
plain sentence each; the offending values stay on the exception.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable


class ReadaidError(Exception):
    """Base of every error the project raises on purpose.

    Parameters
    ----------
    what: what is wrong, a short sentence without a full stop.
    where: file, row, record or option concerned ("" if none).
    cure: what the user can do ("" if nothing).

    >>> str(ReadaidError("The photo is cut off", "kiku.jpg", "copy it again from the camera"))
    'The photo is cut off (kiku.jpg): copy it again from the camera.'
    """

    def __init__(self, what: str, where: str = "", cure: str = "", **values: object) -> None:
        self.what, self.where, self.cure, self.values = what, where, cure, values
        text = what + (f" ({where})" if where else "") + (f": {cure}" if cure else "") + "."
        super().__init__(text)


class OptionError(ReadaidError):
    """An option, name or value that is not among the known ones."""


class TextError(ReadaidError):
    """Text that cannot be read as an inscription."""


class TableError(ReadaidError):
    """A data table with faulty rows; all faults are collected and told at once."""


class PhotoError(ReadaidError):
    """A photo that is missing, damaged, too large or not a photo."""


class ZoneError(ReadaidError):
    """A zone that is empty or outside its photo."""


class DictionaryError(ReadaidError):
    """The dictionary is not installed or not the one we can read."""


class LatticeError(ReadaidError):
    """A lattice that holds no path or is larger than can be searched."""


class ShapeError(ReadaidError):
    """A crop or form with nothing to compare."""


class RegisterError(ReadaidError):
    """The register cannot be read or written."""


class ConflictError(RegisterError):
    """Two writers changed the same record; both versions are kept on the exception."""


class OvertakenError(ConflictError):
    """A record moved on between the look a change was made from and its save; made anew, the change may go through."""


class NewerRegisterError(RegisterError):
    """The register was written by a newer version of the program."""


class ReportError(ReadaidError):
    """A report that cannot be written."""


class ArchiveError(ReadaidError):
    """An archive or reader's copy that is damaged or not safe to open."""


def unknown_option(name: str, given: str, known: Iterable[str]) -> OptionError:
    """Make the error for an unknown option, with the nearest right name.

    >>> str(unknown_option("form", "tonka", ["hokku", "tanka"]))
    "Unknown form 'tonka': did you mean 'tanka'? Known: hokku, tanka."
    """
    names = sorted(known)
    near = difflib.get_close_matches(given, names, n=1)
    hint = f"did you mean '{near[0]}'? " if near else ""
    return OptionError(f"Unknown {name} '{given}'", cure=f"{hint}Known: {', '.join(names)}",
                       given=given, known=names)
