"""The name stands announced in the end, whatever fails on the way: a busy machine, a network that comes later, an end meanwhile."""

from __future__ import annotations

import threading

import pytest
import zeroconf
from lan_kit import free_port

from hullwright.web.announce import Announcer
from hullwright.web.offer import Offer, Wish

ONE, TWO = ("10.0.0.1",), ("10.0.0.2",)


class Wire:
    """Stands for the library: what is announced now, and what fails next."""

    def __init__(self):
        self.on, self.registering, self.closing = [], [], []

    def responder(self, *, interfaces, ip_version):
        return Responder(self, tuple(interfaces))


class Responder:
    def __init__(self, wire, addresses):
        self.wire, self.addresses = wire, addresses
        wire.on.append(addresses)

    def register_service(self, _record):
        if self.wire.registering:
            raise self.wire.registering.pop(0)

    def close(self):
        if self.wire.closing:
            raise self.wire.closing.pop(0)
        self.wire.on.remove(self.addresses)


@pytest.fixture
def wire(monkeypatch):
    made = Wire()
    monkeypatch.setattr(zeroconf, "Zeroconf", made.responder)
    return made


@pytest.fixture
def offer(world, wire):
    made = Offer(world.service, Wish(free_port(), free_port(), addresses=("127.0.0.1",)))
    made.lan.bind, made.addresses = (), list(ONE)
    made.lan.find = lambda: tuple(made.addresses)
    yield made
    made.close()
    assert wire.on == []


@pytest.mark.parametrize(
    "error",
    [zeroconf.EventLoopBlocked(), zeroconf.NonUniqueNameException(), OSError("no route"), RuntimeError()],
)
def test_failed_announcement_is_tried_again_without_a_change_of_address(offer, wire, error):
    wire.registering = [error, error]
    for standing in ([], [], [ONE], [ONE]):
        offer.look()
        assert wire.on == standing, "and nothing is left of one that failed"


def test_busy_machine_that_fails_to_take_a_name_back_does_not_answer_with_the_old_address(offer, wire):
    offer.look()
    wire.closing = [zeroconf.EventLoopBlocked()]
    offer.addresses[:] = TWO
    offer.look()
    assert wire.on == [TWO]


def test_address_that_goes_and_comes_is_announced_again_and_said_once(offer, wire, caplog):
    offer.look()
    offer.addresses.clear()
    for _ in range(3):
        offer.look()
        assert wire.on == []
    assert len(caplog.records) == 1
    offer.addresses[:] = ONE
    offer.look()
    assert wire.on == [ONE]


def test_watching_goes_on_after_whatever_fails(offer, wire, monkeypatch, caplog):
    monkeypatch.setattr("hullwright.web.offer.LOOK_EVERY", 0.001)
    looked, seen = threading.Event(), []

    def find():
        seen.append(1)
        if len(seen) < 4:
            raise zeroconf.EventLoopBlocked if len(seen) % 2 else AssertionError
        looked.set()
        return ONE

    offer.lan.addresses, offer.lan.find = ONE, find
    offer.start()
    assert looked.wait(300), "the thread has ended"
    assert len(caplog.records) == 3


def test_certificate_that_the_listener_did_not_get_is_given_to_it_the_next_time(
    offer, wire, world, monkeypatch
):
    offer.look()
    offer.servers(world.app)
    given = []

    class Context:
        def load_cert_chain(self, _file):
            given.append(offer.lan.addresses)
            if len(given) == 1:
                raise OSError("busy")

    offer._context = Context()
    offer.addresses[:] = TWO
    with pytest.raises(OSError, match="busy"):
        offer.look()
    offer.look()
    offer.look()
    assert given == [TWO, TWO]


def test_nothing_is_announced_after_the_end(wire):
    announcer = Announcer("hullwright-ab12.local", 8766)
    assert announcer.announce(ONE) == ""
    announcer.close()
    assert announcer.announce(TWO) == ""
    assert wire.on == []


def test_end_while_it_is_being_announced_takes_that_back_too(wire):
    """The end waits for its turn: an announcement under way is not left standing behind it."""
    announcer = Announcer("hullwright-ab12.local", 8766)
    begun, go = threading.Event(), threading.Event()

    def slow(self, _record):
        begun.set()
        assert go.wait(300)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Responder, "register_service", slow)
        telling = threading.Thread(target=announcer.announce, args=(ONE,))
        telling.start()
        assert begun.wait(300)
        ending = threading.Thread(target=announcer.close)
        ending.start()
        ending.join(
            0.2
        )  # it must not have had its turn: whether it got this far or not, the outcome is the same
        assert wire.on == [ONE]
        go.set()
        telling.join(300)
        ending.join(300)
    assert wire.on == []
