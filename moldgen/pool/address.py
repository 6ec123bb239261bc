"""Where a cluster is, and the keys that it asks for."""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass
from pathlib import Path

from moldgen.errors import FileError, SpecError

KEY_FILES = ("ca.pem", "cert.pem", "key.pem")
"""Who is trusted, who this is, and its secret; as PEM files in one folder."""
PORT = 8786
"""Where a scheduler listens if nobody says otherwise: the library's own port."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClusterAddress:
    """Where the scheduler of a cluster is.

    Attributes
    ----------
    host : str
        Name or number of its machine.
    port : int
        Where it listens.
    keys : Path or None
        Folder of `KEY_FILES`; None for a scheduler on this very machine.
    """

    host: str
    port: int
    keys: Path | None = None

    @property
    def url(self) -> str:
        """The address in words: ``tls://shed:8786``."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"{'tcp' if self.keys is None else 'tls'}://{host}:{self.port}"


def cluster_address(words: str, keys: str = "", *, field: str = "cluster") -> ClusterAddress:
    """Read an address, ``shed:8786``, with or without ``tcp://`` or ``tls://`` before it.

    Raises
    ------
    SpecError
        If it is no address, or one of another machine without keys: whoever reaches a cluster
        without keys can do anything on its machines.
    """
    scheme, found, rest = words.strip().rpartition("://")
    host, colon, port = rest.rpartition(":")
    if not colon or rest.endswith("]"):
        host, port = rest, str(PORT)
    host = host.strip("[]")
    if not host or not port.isdecimal() or not 0 < int(port) < 65536 or _is_other(scheme, found):
        raise SpecError(
            field, f"an address such as shed:{PORT}", repr(words),
            "moldgen scheduler prints it when it starts.",
        )  # fmt: skip
    folder = Path(keys) if keys else None
    if folder is None and not is_own_machine(host):
        raise SpecError(
            "cluster_keys", "given for a cluster on another machine", "none",
            "moldgen scheduler --new-keys FOLDER makes keys; copy the folder to each machine.",
        )  # fmt: skip
    if folder is None and scheme == "tls":
        raise SpecError("cluster_keys", "given for tls", "none", "Name the folder of the keys.")
    return ClusterAddress(host=host, port=int(port), keys=folder)


def check_keys(folder: Path) -> None:
    """Raise `FileError` unless a folder holds keys."""
    for name in KEY_FILES:
        if not (folder / name).is_file():
            raise FileError(
                f"{folder / name} is missing: the folder of the keys holds {', '.join(KEY_FILES)}. "
                "moldgen scheduler --new-keys FOLDER makes them."
            )


def is_own_machine(host: str) -> bool:
    """Return whether a host is this machine under a name that nobody else has."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def _is_other(scheme: str, found: str) -> bool:
    return bool(found) and scheme not in ("tcp", "tls")
