"""A time stamp authority of the tests' own at a local address. Source: RFC 3161, 3.4 (over HTTP)."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from http.server import BaseHTTPRequestHandler, HTTPServer
from typing import Any

from archive.keys import KINDS, certified
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat


class Authority:
    """Key and certificate of an authority, and what it answers."""

    def __init__(self, *, days: tuple[float, float] = (-1.0, 30.0)) -> None:
        self.private = KINDS["RSA 2048"]()
        self.certificate: x509.Certificate = certified(self.private, "A clock", days=days, stamps=True)

    def stamper(self, moment: datetime | None = None) -> Any:
        from asn1crypto import keys
        from asn1crypto import x509 as asn1
        from pyhanko.sign.timestamps import DummyTimeStamper

        plain = self.private.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())
        return DummyTimeStamper(
            tsa_cert=asn1.Certificate.load(self.certificate.public_bytes(Encoding.DER)),
            tsa_key=keys.PrivateKeyInfo.load(plain),
            fixed_dt=moment,
        )

    def answer(self, asked: bytes) -> bytes:
        from asn1crypto import tsp

        done: bytes = self.stamper().request_tsa_response(tsp.TimeStampReq.load(asked)).dump()
        return done


class Refusing(Authority):
    """Grants nothing. RFC 3161, 2.4.2."""

    def answer(self, asked: bytes) -> bytes:
        from asn1crypto import tsp

        status = tsp.PKIStatusInfo({"status": "rejection", "fail_info": {"bad_request"}})
        done: bytes = tsp.TimeStampResp({"status": status}).dump()
        return done


class Confused(Authority):
    """Stamps another document."""

    def answer(self, asked: bytes) -> bytes:
        from asn1crypto import tsp

        request = tsp.TimeStampReq.load(asked)
        imprint = request["message_imprint"]
        imprint["hashed_message"] = bytes(len(imprint["hashed_message"].native))
        return super().answer(request.dump(force=True))


class Babbling(Authority):
    """Answers something else."""

    def answer(self, asked: bytes) -> bytes:
        return b"<html>the service has moved</html>"


@contextmanager
def at_an_address(authority: Authority) -> Iterator[str]:
    """Serve an authority for as long as the block lasts."""

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            if self.headers["Content-Type"] != "application/timestamp-query":
                self.send_error(415)
                return
            answer = authority.answer(self.rfile.read(int(self.headers["Content-Length"])))
            self.send_response(200)
            self.send_header("Content-Type", "application/timestamp-reply")
            self.send_header("Content-Length", str(len(answer)))
            self.end_headers()
            self.wfile.write(answer)

        def log_message(self, format: str, *arguments: Any) -> None:
            pass

    with HTTPServer(("127.0.0.1", 0), Handler) as server:
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        try:
            yield f"http://127.0.0.1:{server.server_address[1]}/stamp"
        finally:
            server.shutdown()
            thread.join()
