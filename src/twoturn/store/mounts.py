"""Is a folder on a network drive, or in one that a service synchronises? (A live database is damaged by both.)"""

from __future__ import annotations

import ctypes
import re
import subprocess
import sys
from pathlib import Path, PurePath

NETWORK = {
    "9p", "afpfs", "afs", "ceph", "cifs", "davfs", "fuse.curlftpfs", "fuse.davfs2", "fuse.gcsfuse", "fuse.glusterfs",
    "fuse.rclone", "fuse.s3fs", "fuse.sshfs", "glusterfs", "lustre", "ncpfs", "nfs", "nfs4", "smb3", "smbfs", "webdav",
}  # fmt: skip
"""Types of file systems that live on another computer, as the mount table names them."""

SYNCED = (
    (r"onedrive( - .+)?", "OneDrive"),
    (r"dropbox( \(.+\))?", "Dropbox"),
    (r"google ?drive|my drive|googledrive-.+", "Google Drive"),
    (r"icloud ?drive|mobile documents|com~apple~clouddocs", "iCloud Drive"),
    (r"nextcloud\d*", "Nextcloud"),
    (r"owncloud\d*", "ownCloud"),
    (r"pcloud ?drive", "pCloud"),
    (r"mega(sync)?( drive)?", "MEGA"),
    (r"seafile", "Seafile"),
    (r"box( sync)?", "Box"),
)
MARKERS = {
    ".stfolder": "Syncthing",
    ".dropbox": "Dropbox",
    ".owncloudsync.log": "ownCloud",
    ".nextcloudsync.log": "Nextcloud",
    ".849C9593-D756-4E56-8D6E-42412F2A707B": "OneDrive",
}
"""Files that these services leave in the folder they copy."""


def sync_service(folder: Path) -> str | None:
    """Name of the service that synchronises ``folder``, by the names of its parents and the marks left in them."""
    for path in (folder, *folder.parents):
        for pattern, name in SYNCED:
            if re.fullmatch(pattern, path.name.casefold()):
                return name
        for mark, name in MARKERS.items():
            if (path / mark).exists():
                return name
    return None


def network_type(folder: Path, mounts: str | None = None) -> str | None:
    """Type of the network file system that ``folder`` lies on, or None for a disk of this computer.

    Parameters
    ----------
    folder
        An absolute path; it need not exist.
    mounts
        The system's table of mounts as text; read from the system when None.
    """
    if mounts is None and sys.platform == "win32":
        return _windows_type(folder)
    found = dict(_mounts(_table() if mounts is None else mounts))
    for path in (folder, *folder.parents):
        if path in found:
            return found[path] if found[path] in NETWORK else None
    return None


def _table() -> str:
    linux = Path("/proc/self/mountinfo")
    if linux.exists():
        return linux.read_text(encoding="utf-8", errors="surrogateescape")
    try:
        return subprocess.run(["mount"], capture_output=True, text=True, timeout=5, check=False).stdout
    except (OSError, subprocess.SubprocessError):
        return ""


def _mounts(table: str) -> list[tuple[PurePath, str]]:
    """Mount points and their types, from Linux's mountinfo (proc(5)) or from what ``mount`` prints elsewhere."""
    found: list[tuple[PurePath, str]] = []
    for line in table.splitlines():
        head, dash, tail = line.partition(" - ")
        words = head.split(" ")
        if dash and len(words) >= 6:
            found.append((Path(re.sub(r"\\(\d{3})", lambda code: chr(int(code[1], 8)), words[4])), tail.split(" ")[0]))
        elif match := re.fullmatch(r".+ on (/.*) \(([^,)]+).*\)", line):
            found.append((Path(match[1]), match[2]))
    return found


def _windows_type(folder: Path) -> str | None:
    if str(folder).startswith("\\\\"):
        return "a shared folder"
    kind = getattr(ctypes, "windll").kernel32.GetDriveTypeW(folder.anchor)  # noqa: B009 - is there on Windows only
    return "a network drive" if kind == 4 else None
