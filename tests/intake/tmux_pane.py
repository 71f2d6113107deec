"""A real terminal for tests: one program in a tmux pane of a given size."""

import os
import shlex
import signal
import subprocess
import time
import uuid
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

PATIENCE_S = 90.0  # only a failure waits so long; a shared machine can be slow


class Pane:
    """One program in its own tmux server, so that no other session is touched."""

    def __init__(self, socket_folder: Path, width: int = 80, height: int = 24) -> None:
        self._folder = socket_folder
        self._socket = ""
        self._size = ("-x", str(width), "-y", str(height))

    def start(self, command: Sequence[str], environment: Mapping[str, str]) -> None:
        """Start a program in a fresh pane whose text stays readable after the program ends."""
        # A new server each time: one that is just ending still holds its socket.
        self._socket = str(self._folder / f"tmux-{uuid.uuid4().hex[:8]}")
        settings = " ".join(f"{name}={shlex.quote(value)}" for name, value in environment.items())
        program = f"exec env {settings} {shlex.join(command)}"
        self._tmux("-f", "/dev/null", "new-session", "-d", *self._size, "sleep 300")
        self._tmux("set-option", "-g", "remain-on-exit", "on")
        self._tmux("respawn-pane", "-k", program)

    def close(self) -> None:
        """End this pane's own tmux server."""
        if self._socket:
            command = ["tmux", "-S", self._socket, "kill-server"]
            subprocess.run(command, check=False, capture_output=True)

    def type(self, text: str, key: str | None = "Enter") -> None:
        """Type text, then press a key."""
        if text:
            self._tmux("send-keys", "-l", text)
        if key is not None:
            self._tmux("send-keys", key)

    def text(self) -> str:
        """Everything the pane has shown, with wrapped lines joined."""
        return self._tmux("capture-pane", "-p", "-J", "-S", "-")

    def visible(self) -> list[str]:
        """The lines on the screen now."""
        return self._tmux("capture-pane", "-p").splitlines()

    def wait(self, holds: Callable[[str], bool], what: str) -> str:
        """Return the pane's text once a condition holds; fail with the text after a while."""
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            shown = self.text()
            if holds(shown):
                return shown
            time.sleep(0.03)
        raise AssertionError(f"never saw {what} in:\n{self.text()}")

    def wait_for(self, wanted: str) -> str:
        """Return the pane's text once it holds something."""
        return self.wait(lambda shown: wanted in shown, wanted)

    def kill(self) -> None:
        """End the program in the pane as hard as the system can."""
        os.kill(int(self._tmux("display-message", "-p", "#{pane_pid}")), signal.SIGKILL)
        self.wait(
            lambda _: self._tmux("display-message", "-p", "#{pane_dead}").strip() == "1", "end"
        )

    def ended(self) -> str:
        """Wait for the program's end and return what was shown."""
        return self.wait(
            lambda _: self._tmux("display-message", "-p", "#{pane_dead}").strip() == "1", "the end"
        )

    def _tmux(self, *arguments: str) -> str:
        command = ["tmux", "-S", self._socket, *arguments]
        return subprocess.run(command, check=True, capture_output=True, text=True).stdout
