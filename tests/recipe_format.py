"""A report format as DEVELOPERS.md says how to add one: a renderer of the document, and one row in ``FORMATS``."""

from readaid.report.document import Document


def render(document: Document) -> bytes:
    """The titles of the document's sections, one a line."""
    return "\n".join(section.title for section in document.sections).encode()
