"""The tests reach nothing beyond this machine."""

import socket

import pytest
from pytest_socket import SocketConnectBlockedError


def test_a_test_cannot_reach_another_machine() -> None:
    nobody = ("192.0.2.1", 80)  # RFC 5737
    # The guard warns as well, and warnings are errors here.
    with pytest.raises((SocketConnectBlockedError, UserWarning), match=r"192\.0\.2\.1"):
        socket.create_connection(nobody, timeout=1)
