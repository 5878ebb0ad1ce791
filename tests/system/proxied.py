"""nginx with the settings that we ship, on ports and with certificates of a test."""
import shutil
import socket
import ssl
import subprocess

from certificates import openssl
from conftest import ROOT, end, free_port
from waiting import wait_for

SHIPPED = ROOT / "deploy" / "proxy" / "nginx.conf"


class Nginx:
    """In front of a daemon whose pages are at `pages`; .port is that of TLS, .clear the other."""

    def __init__(self, folder, pages):
        folder.mkdir()
        self.folder, self.port, self.clear = folder, free_port(), free_port()
        openssl("req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-days", 2, "-subj", "/CN=greenhouse.example",
                "-addext", "subjectAltName=DNS:greenhouse.example", "-keyout", folder / "key.pem", "-out", folder / "fullchain.pem")
        site = SHIPPED.read_text()
        for before, after in ((" listen [::]:80;", ""), (" listen [::]:443 ssl;", ""), ("listen 80;", f"listen 127.0.0.1:{self.clear};"),
                              ("listen 443 ssl;", f"listen 127.0.0.1:{self.port} ssl;"), ("/etc/ssl/greenhouse", str(folder)),
                              ("http://127.0.0.1:8632", f"http://127.0.0.1:{pages}")):
            assert before in site, before
            site = site.replace(before, after)
        temporary = "".join(f"{kind}_temp_path {folder}/{kind};\n" for kind in ("client_body", "proxy", "fastcgi", "uwsgi", "scgi"))
        (folder / "nginx.conf").write_text(f"daemon off;\nmaster_process off;\npid {folder}/pid;\nerror_log {folder}/error.log;\nevents {{}}\n"
                                           f"http {{\naccess_log off;\n{temporary}{site}}}\n")
        program = shutil.which("nginx", path="/usr/sbin:/usr/bin:/usr/local/sbin:/usr/local/bin")
        assert program, "nginx is missing; tools/test installs it"
        self.process = subprocess.Popen([program, "-p", folder, "-c", folder / "nginx.conf"], stderr=open(folder / "stderr", "w"))
        wait_for(self._answers, "nginx to listen")

    def _answers(self):
        assert self.process.poll() is None, (self.folder / "stderr").read_text()
        with socket.socket() as tried:
            return tried.connect_ex(("127.0.0.1", self.port)) == 0

    def connect(self):
        """A TLS connection that has checked the certificate."""
        context = ssl.create_default_context(cafile=self.folder / "fullchain.pem")
        return context.wrap_socket(socket.create_connection(("127.0.0.1", self.port), timeout=60), server_hostname="greenhouse.example")

    def stop(self):
        if self.process.poll() is None:
            end(self.process)
