"""A faulty line between phone and server: it counts all that passes, and can swallow answers after the server has done its work."""

import http.client
import threading
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from types import TracebackType
from typing import Self

HOP = {"connection", "keep-alive", "transfer-encoding", "content-length", "date", "server"}
OPERATION = "/m/sync/op/"


@dataclass
class Line:
    """The line to a server's port. `drop` answers to operations are still to be swallowed; `seen` is every request that came."""

    port: int
    drop: int = 0
    dropped: int = 0
    seen: list[str] = field(default_factory=list)
    answers: list[tuple[str, int]] = field(default_factory=list)

    def __enter__(self) -> Self:
        line = self

        class Handler(BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def pass_on(self) -> None:
                line.pass_on(self)

            do_GET = do_POST = do_PUT = do_HEAD = pass_on

            def log_message(self, *_: object) -> None:
                """Says nothing."""

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.server.daemon_threads = True
        self.url = f"http://127.0.0.1:{self.server.server_address[1]}"
        threading.Thread(target=self.server.serve_forever, daemon=True).start()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.server.shutdown()
        self.server.server_close()

    def operations(self) -> list[str]:
        """The PUTs of operations that came, in order."""
        return [request for request in self.seen if request.startswith(f"PUT {OPERATION}")]

    def pass_on(self, phone: BaseHTTPRequestHandler) -> None:
        """One request to the server and its answer back, or not."""
        request = f"{phone.command} {phone.path}"
        self.seen.append(request)
        body = phone.rfile.read(int(phone.headers.get("Content-Length") or 0))
        door = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        try:
            door.request(phone.command, phone.path, body or None, {k: v for k, v in phone.headers.items() if k.lower() not in HOP})
            answer = door.getresponse()
            text = answer.read()
        except (OSError, http.client.HTTPException):
            phone.close_connection = True  # nobody at home: the phone sees a broken line
            return
        finally:
            door.close()
        self.answers.append((request, answer.status))
        if self.drop and request.startswith(f"PUT {OPERATION}"):
            self.drop, self.dropped = self.drop - 1, self.dropped + 1
            phone.close_connection = True
            return
        phone.send_response_only(answer.status, answer.reason)
        for name, value in answer.getheaders():
            if name.lower() not in HOP:
                phone.send_header(name, value)
        phone.send_header("Content-Length", str(len(text)))
        phone.end_headers()
        if phone.command != "HEAD":
            phone.wfile.write(text)
