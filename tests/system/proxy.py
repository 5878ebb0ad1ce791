"""A TCP proxy between the daemon and its broker that reads the traffic: which messages were delivered to the daemon and which
of them it acknowledged. It outlives both ends, and can also act as a network that refuses or swallows everything."""
import socket
import struct
import threading
import time


def read_exactly(connection, size):
    data = b""
    while len(data) < size:
        part = connection.recv(size - len(data))
        if not part:
            raise ConnectionError
        data += part
    return data


def read_packet(connection):
    """One MQTT control packet: its first byte, its body, and all its bytes."""
    head = read_exactly(connection, 1)
    size, shift, length = 0, 0, b""
    while True:
        byte = read_exactly(connection, 1)
        length += byte
        size |= (byte[0] & 127) << shift
        shift += 7
        if not byte[0] & 128:
            break
    body = read_exactly(connection, size)
    return head[0], body, head + length + body


def publish_parts(first, body, version):
    """(packet id, topic, payload) of a PUBLISH at QoS 1; None at QoS 0."""
    if not first & 0x06:
        return None
    at = 2 + int.from_bytes(body[:2], "big")
    topic = body[2:at].decode()
    number = int.from_bytes(body[at:at + 2], "big")
    at += 2
    if version == 5:
        size, shift = 0, 0
        while True:
            byte = body[at]
            at += 1
            size |= (byte & 127) << shift
            shift += 7
            if not byte & 128:
                break
        at += size
    return number, topic, body[at:]


def came(connection):
    """When the connection was made or first sent data, according to the kernel: a loaded machine may have delayed us."""
    milliseconds, = struct.unpack_from("=I", connection.getsockopt(socket.IPPROTO_TCP, socket.TCP_INFO, 104), 52)  # tcpi_last_data_recv
    return time.monotonic() - milliseconds / 1000


class Proxy:
    """Listens on `port` and passes on to `upstream`. While `refusing`, each connection is closed after its first packet; while
    `fickle`, after the broker has accepted it. With `reads` False, unreadable traffic (TLS) is passed on and only connections
    are counted."""

    def __init__(self, upstream, reads=True):
        self.upstream, self.reads, self.refusing, self.fickle = upstream, reads, False, False
        self.lock = threading.Lock()
        self.attempts = []            # (monotonic time, client id); no id when the traffic is unreadable
        self.handed = {}              # payload -> how often it was sent to the daemon
        self.acknowledged = {}        # payload -> monotonic time of the daemon's first PUBACK
        self.fences = {}              # number of the connection -> monotonic time when the daemon got its own message back
        self.flagged = 0              # messages sent to the daemon with the DUP flag
        self.open = {}                # number -> (daemon's socket, broker's socket or None)
        self.ended = {}               # number -> monotonic time when the daemon's side was closed
        self.frozen = set()           # numbers of the connections that are half-open
        self.made = {}                # number -> when the daemon opened it
        self.listener = socket.socket()
        self.listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        self.listener.bind(("127.0.0.1", 0))
        self.listener.listen(50)
        self.port = self.listener.getsockname()[1]
        threading.Thread(target=self._accept, daemon=True).start()

    def url(self, scheme="mqtt"):
        return f"{scheme}://127.0.0.1:{self.port}"

    def close(self):
        self.listener.close()
        self.cut()

    def cut(self):
        """Ends every connection."""
        with self.lock:
            pairs = list(self.open.values())
        for pair in pairs:
            for end in pair:
                hang_up(end)

    def freeze(self):
        """Existing connections stay open, but nothing passes through them any more, in either direction."""
        with self.lock:
            self.frozen |= set(self.open)

    def tried(self, since, client=""):
        """Times of the connection attempts after `since`, by clients whose id ends like this."""
        with self.lock:
            return [at for at, name in self.attempts if at >= since and name.endswith(client)]

    def redelivered(self):
        with self.lock:
            return sum(times - 1 for times in self.handed.values())

    def past_backlog(self, since):
        """When the daemon had first drained the backlog of a connection after `since`; None: not yet. The connection's own
        start does not show this: it may be made just before a kill and served after the restart."""
        with self.lock:
            return min((at for at in self.fences.values() if at >= since), default=None)

    def _accept(self):
        while True:
            try:
                daemon, _ = self.listener.accept()
            except OSError:
                return
            daemon.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
            threading.Thread(target=self._serve, args=(daemon, came(daemon)), daemon=True).start()

    def _serve(self, daemon, began):
        broker, number = None, None
        try:
            name, version, first = "", 0, b""
            if self.reads:
                _, body, first = read_packet(daemon)  # CONNECT
                version = body[6]
                name = client_id(body, version)
            with self.lock:
                number = len(self.made) + 1
                self.made[number] = began
                self.attempts.append((began, name))
                self.open[number] = (daemon, None)
            if not self.refusing:
                broker = socket.create_connection(("127.0.0.1", self.upstream))
                broker.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
                with self.lock:
                    self.open[number] = (daemon, broker)
                broker.sendall(first)
                waiting = {}  # packet id -> [(topic, payload)]: a killed broker may reuse a number
                threading.Thread(target=self._to_daemon, args=(broker, daemon, number, version, waiting), daemon=True).start()
                self._to_broker(daemon, broker, number, waiting)
        except (OSError, ConnectionError, IndexError):
            pass
        finally:
            with self.lock:
                self.open.pop(number, None)
                self.ended[number] = time.monotonic()
            for end in (daemon, broker):
                hang_up(end)

    def _to_broker(self, daemon, broker, number, waiting):
        while True:
            if not self.reads:
                data = daemon.recv(65536)
                if not data:
                    return
            else:
                first, body, data = read_packet(daemon)
                if first >> 4 == 4:  # PUBACK
                    now = time.monotonic()
                    with self.lock:  # even on a half-open connection: the service has it
                        those = waiting.get(int.from_bytes(body[:2], "big"))
                        topic, payload = those.pop(0) if those else ("", None)
                        if topic.endswith("/fence"):
                            self.fences.setdefault(number, now)
                        elif payload is not None:
                            self.acknowledged.setdefault(payload, now)
            if number not in self.frozen:
                broker.sendall(data)

    def _to_daemon(self, broker, daemon, number, version, waiting):
        try:
            while True:
                if not self.reads:
                    data = broker.recv(65536)
                    if not data:
                        break
                else:
                    first, body, data = read_packet(broker)
                    parts = publish_parts(first, body, version) if first >> 4 == 3 else None
                    if parts and number not in self.frozen:
                        with self.lock:
                            waiting.setdefault(parts[0], []).append(parts[1:])
                            self.handed[parts[2]] = self.handed.get(parts[2], 0) + 1
                            self.flagged += bool(first & 8)
                if number not in self.frozen:
                    daemon.sendall(data)
                if self.fickle and self.reads and first >> 4 == 2:  # CONNACK
                    break
        except (OSError, ConnectionError, IndexError):
            pass
        if number not in self.frozen:  # a half-open connection does not pass on the other end's close either
            hang_up(daemon)


def client_id(body, version):
    at = 10  # protocol name, level, flags, keep alive
    if version == 5:
        at += 1 + body[at]  # properties; ours are shorter than 128 bytes
    size = int.from_bytes(body[at:at + 2], "big")
    return body[at + 2:at + 2 + size].decode()


def hang_up(end):
    if end is not None:
        try:
            end.shutdown(socket.SHUT_RDWR)
        except OSError:
            pass
