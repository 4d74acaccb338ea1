"""A line between phone and shed that is cut after so many bytes of the phone's."""

import contextlib
import selectors
import socket
import threading


class CutLine:
    """Passes bytes on, and closes a connection once `left` bytes of the phone's went by.

    Each connection that is cut takes the next of `cuts`; after the last one nothing is cut.
    """

    def __init__(self, port, cuts):
        self._to = port
        self._cuts = iter(cuts)
        self.cut = 0
        self._door = socket.create_server(("127.0.0.1", 0))
        self.port = self._door.getsockname()[1]
        self._left = next(self._cuts, None)
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    def close(self):
        self._door.close()

    def _serve(self):
        while True:
            try:
                phone, _ = self._door.accept()
            except OSError:
                return
            self._pass_on(phone)

    def _pass_on(self, phone):
        with contextlib.suppress(OSError), phone, (
                socket.create_connection(("127.0.0.1", self._to))) as shed, (
                selectors.DefaultSelector()) as waiting:
            waiting.register(phone, selectors.EVENT_READ, shed)
            waiting.register(shed, selectors.EVENT_READ, phone)
            while True:
                for key, _ in waiting.select(30):
                    data = key.fileobj.recv(65536)
                    if not data:
                        return
                    if key.fileobj is phone and self._left is not None:
                        if len(data) >= self._left:
                            key.data.sendall(data[:self._left])
                            self._left = next(self._cuts, None)
                            self.cut += 1
                            return
                        self._left -= len(data)
                    key.data.sendall(data)
