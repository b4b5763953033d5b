"""Whether a folder lies on a network disk, where locks between two computers cannot be relied on.

Conventions: "" where it does not, or where the system does not say; nothing is refused on the ground of it.
"""

from __future__ import annotations

from pathlib import Path

#: File systems of another computer, by their Linux names (SQLite documentation, "How To Corrupt An SQLite Database
#: File", 2.1, on locks that are broken or missing).
NETWORK = ("nfs", "nfs4", "cifs", "smb3", "smbfs", "afs", "ceph", "glusterfs", "fuse.sshfs", "davfs", "fuse.davfs2")
_MOUNTS = Path("/proc/self/mountinfo")


def kind_of(folder: Path) -> str:
    """Name of the network file system a folder lies on, "" for none that is known.

    >>> kind_of(Path("/"))
    ''
    """
    if str(folder).startswith("\\\\"):
        return "a network share"
    try:
        text = _MOUNTS.read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""
    return listed(text, folder.resolve())


def listed(mounts: str, folder: Path) -> str:
    """The same from the text of Linux' mount table (proc(5), mountinfo): the longest mount point above counts.

    >>> listed("29 1 8:1 / / rw - ext4 /dev/sda1 rw\\n40 29 0:5 / /mnt/office rw - cifs //host/share rw",
    ...        Path("/mnt/office/tray"))
    'cifs'
    """
    best, found = -1, ""
    for line in mounts.splitlines():
        fields, _, rest = line.partition(" - ")
        parts = fields.split(" ")
        if len(parts) < 5 or not rest:
            continue
        # The mount table writes a space as \040 (proc(5)).
        point = Path(parts[4].replace("\\040", " "))
        if folder.is_relative_to(point) and len(point.parts) > best:
            best, found = len(point.parts), rest.split(" ")[0]
    return found if found in NETWORK else ""
