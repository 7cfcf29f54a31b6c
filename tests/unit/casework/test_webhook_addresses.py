"""Which addresses messages are sent to: the special-purpose registries, as their RFCs say."""

from __future__ import annotations

from ipaddress import ip_address

import pytest

from heelstamp.casework.sharing.webhooks import RefusedAddressError, chosen_address

PUBLIC = ["93.184.216.34", "2606:2800:220:1:248:1893:25c8:1946", "8.8.8.8"]
PRIVATE = [
    "127.0.0.1",
    "127.8.9.1",
    "10.1.2.3",
    "172.16.0.1",
    "172.31.255.255",
    "192.168.1.1",
    "100.64.0.1",  # RFC 6598
    "::1",
    "fd00::1",  # RFC 4193
    "::ffff:10.1.2.3",
    "64:ff9b::10.1.2.3",  # RFC 6052
    "2002:0a01:0203::1",  # RFC 3056, of 10.1.2.3
]
NEVER = [
    "169.254.169.254",  # where machines keep their own credentials
    "fe80::1",
    "fe80::1%eth0",
    "::ffff:169.254.169.254",
    "64:ff9b::169.254.169.254",
    "2002:a9fe:a9fe::1",
    "0.0.0.0",
    "::",
    "224.0.0.1",
    "ff02::1",
    "240.0.0.1",
    "255.255.255.255",
    "192.0.2.1",  # documentation
    "198.18.0.1",  # benchmarking
    "2001:db8::1",
    "fec0::1",
    "::10.1.2.3",
]


@pytest.mark.parametrize("address", PUBLIC)
def test_public(address: str) -> None:
    assert chosen_address("x.example", [address], private=False) == address


@pytest.mark.parametrize("address", PRIVATE)
def test_private_only_where_it_is_allowed(address: str) -> None:
    with pytest.raises(RefusedAddressError):
        chosen_address("x.example", [address], private=False)
    found = chosen_address("x.example", [address], private=True)
    assert ip_address(found) == ip_address(address)


@pytest.mark.parametrize("address", NEVER)
@pytest.mark.parametrize("private", [False, True])
def test_never(address: str, private: bool) -> None:
    with pytest.raises(RefusedAddressError):
        chosen_address("x.example", [address], private=private)


def test_a_name_that_leads_to_both_is_refused() -> None:
    with pytest.raises(RefusedAddressError):
        chosen_address("x.example", ["8.8.8.8", "10.0.0.1"], private=False)
    with pytest.raises(RefusedAddressError):
        chosen_address("x.example", [], private=False)
