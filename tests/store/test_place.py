"""Where a record may lie: on a disk of this computer, in a folder that nothing copies elsewhere, with room."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

import pytest

from twoturn.store.faults import DiskFull, PlaceRefused
from twoturn.store.mounts import network_type, sync_service
from twoturn.store.place import Place, check_place, make_place

# Lines as proc(5), "/proc/pid/mountinfo", describes them; the octal code stands for a blank there.
MOUNTINFO = """\
21 1 8:1 / / rw,relatime shared:1 - ext4 /dev/sda1 rw
30 21 0:50 / /srv rw,relatime shared:2 - nfs4 server:/srv rw,vers=4.2
31 21 0:51 / /mnt/shop\\040share rw,relatime - cifs //office/share rw
32 30 8:2 / /srv/local rw,relatime shared:3 - xfs /dev/sdb1 rw
33 21 0:52 / /users/ida/cloud rw,nosuid - fuse.sshfs ida@host:/ rw
34 21 0:53 / /run rw shared:4 - tmpfs tmpfs rw
"""
# As mount(8) prints them on systems without /proc.
MOUNT = """\
/dev/disk1s1 on / (apfs, local, journaled)
//ida@office/share on /Volumes/share (smbfs, nodev, nosuid, mounted by ida)
"""


@pytest.mark.parametrize(
    ("folder", "found"),
    [
        ("/users/ida/record", None),
        ("/srv/record", "nfs4"),
        ("/srv/local/record", None),
        ("/mnt/shop share/record", "cifs"),
        ("/users/ida/cloud/a/b", "fuse.sshfs"),
        ("/run/record", None),
        ("/srvother", None),
    ],
)
def test_network_drives_are_told_from_the_table_of_mounts(folder: str, found: str | None) -> None:
    assert network_type(Path(folder), MOUNTINFO) == found


def test_the_table_of_mount_is_understood_too() -> None:
    assert network_type(Path("/Volumes/share/record"), MOUNT) == "smbfs"
    assert network_type(Path("/Users/ida/record"), MOUNT) is None


@pytest.mark.parametrize("name", ["OneDrive", "OneDrive - Example Ltd", "Dropbox", "Nextcloud", "Google Drive"])
def test_folders_that_a_service_copies_elsewhere_are_refused_by_name(tmp_path: Path, name: str) -> None:
    folder = tmp_path / name / "record"
    assert sync_service(folder) is not None
    with pytest.raises(PlaceRefused, match="copied elsewhere while it is written"):
        check_place(folder, mounts="")


def test_folders_are_refused_by_the_mark_that_a_service_leaves(tmp_path: Path) -> None:
    (tmp_path / ".stfolder").touch()
    assert sync_service(tmp_path / "deep" / "record") == "Syncthing"


@pytest.mark.skipif(sys.platform == "win32", reason="links need a right of their own there")
def test_a_link_into_such_a_folder_is_seen_through(tmp_path: Path) -> None:
    (tmp_path / "Dropbox" / "record").mkdir(parents=True)
    (tmp_path / "link").symlink_to(tmp_path / "Dropbox" / "record")
    with pytest.raises(PlaceRefused, match="Dropbox"):
        check_place(tmp_path / "link", mounts="")


def test_a_network_drive_is_refused_in_words() -> None:
    with pytest.raises(PlaceRefused, match="nfs4") as caught:
        check_place(Path("/srv/record"), mounts=MOUNTINFO)
    assert "target of backups" in caught.value.sentence


def test_a_plain_folder_is_taken_and_too_little_room_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    check_place(tmp_path / "new" / "record")
    free = shutil.disk_usage(tmp_path).free
    with pytest.raises(DiskFull, match="MB are free"):
        check_place(tmp_path, least_free=free * 2)


@pytest.mark.skipif(sys.platform == "win32", reason="rights of files are kept otherwise there")
def test_secrets_are_for_their_owner_alone(tmp_path: Path) -> None:
    place = make_place(tmp_path / "data")
    assert place.secrets.stat().st_mode & 0o777 == 0o700
    place.secrets.chmod(0o755)
    assert make_place(tmp_path / "data").secrets.stat().st_mode & 0o777 == 0o700


def test_the_layout_is_what_the_page_says() -> None:
    """docs/record.md, "Where it is"."""
    page = (Path(__file__).resolve().parents[2] / "docs" / "record.md").read_text(encoding="utf-8")
    place = Place(Path("/data"))
    for path in (place.database, place.evidence, place.copies, place.secrets, place.incoming):
        assert f"| `{path.relative_to(place.folder)}" in page
