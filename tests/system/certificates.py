"""A test's own certificate authority, made with openssl: by the machine's clock, like the library that checks them inside the
service."""
import datetime
import subprocess

from clock import UTC, machine_s

CONFIG = """\
[ca]
default_ca = house
[house]
database = {folder}/index
new_certs_dir = {folder}
serial = {folder}/serial
certificate = {folder}/ca.pem
private_key = {folder}/ca.key
default_md = sha256
policy = any
unique_subject = no
[any]
commonName = supplied
[broker]
subjectAltName = DNS:localhost
"""


def openssl(*arguments):
    done = subprocess.run(["openssl", *map(str, arguments)], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


class Authority:
    def __init__(self, folder):
        folder.mkdir()
        self.folder, self.certificate = folder, folder / "ca.pem"
        (folder / "index").touch()
        (folder / "serial").write_text("01\n")
        (folder / "config").write_text(CONFIG.format(folder=folder))
        openssl("req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-days", 2, "-subj", f"/CN={folder.name}",
                "-keyout", folder / "ca.key", "-out", self.certificate)

    def issue(self, path, days=0, seconds=0):
        """Makes path.pem and path.key for localhost; returns when the certificate ends, in seconds since 1970."""
        ends = int(machine_s()) + 86400 * days + seconds
        request = self.folder / "request"
        openssl("req", "-new", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-subj", "/CN=localhost",
                "-keyout", path.with_suffix(".key"), "-out", request)
        end = datetime.datetime.fromtimestamp(ends, UTC).strftime("%Y%m%d%H%M%SZ")
        openssl("ca", "-batch", "-notext", "-config", self.folder / "config", "-extensions", "broker", "-enddate", end, "-in", request,
                "-out", path.with_suffix(".pem"))
        return ends
