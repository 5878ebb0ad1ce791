"""Tests that mount a file system."""
import os
import subprocess
import sys


def may_mount(request):
    """True when this process may mount; otherwise runs the calling test again in a name space in which everybody may."""
    if os.geteuid() == 0:
        return True
    again = subprocess.run(["unshare", "--user", "--map-root-user", "--mount", sys.executable, "-m", "pytest", "-q", "-s", "-p", "no:cacheprovider",
                            "--basetemp", request.getfixturevalue("tmp_path") / "inside", f"{request.node.path}::{request.node.name}"], capture_output=True, text=True)
    print(again.stdout)
    assert again.returncode == 0, f"neither root nor able to make a user name space, or the test failed in it:\n{again.stdout}{again.stderr}"
    return False
