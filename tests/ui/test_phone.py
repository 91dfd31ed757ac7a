"""'Let my phone in': what a key opens, how often, for how long, and what stays shut to the network."""

from __future__ import annotations

import json
import re
import socket
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from starlette.testclient import TestClient

from mockup.project import Project
from swatches.errors import InputError
from swatches.photo import jpeg_bytes
from ui.app import build_app
from ui.gate import UPLOAD_LIMIT
from ui.parts.session import Sessions
from ui.phone import KEY_S, Phones, home_address, phone_scene

AT = "192.168.1.5:7860"
OWN = {"origin": f"http://{AT}"}
WORD = "w" * 22


class Clock:
    now = 0.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def phones() -> Phones:
    return Phones(f"http://{AT}", Clock())


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> tuple[Any, Phones, Path]:
    data, phones = tmp_path_factory.mktemp("data"), Phones(f"http://{AT}")
    Sessions(data).get(WORD).keep(Project("<i>tunic</i>"), "begun")
    return build_app(data, hosts=["127.0.0.1", "192.168.1.5"], phones=phones), phones, data


def client_at(app: Any, host: str) -> TestClient:
    return TestClient(app, base_url=f"http://{AT}", follow_redirects=False, client=(host, 50_000))


@pytest.fixture
def phone(built: tuple[Any, Phones, Path]) -> Iterator[TestClient]:
    with client_at(built[0], "192.168.1.9") as found:
        yield found


def key_of(address: str) -> str:
    return address.partition("key=")[2]


def test_a_key_works_once_and_for_ten_minutes(phones: Phones) -> None:
    key = key_of(phones.invite(WORD))
    assert len(key) >= 22, "128 random bits"
    token = phones.enter(key)
    assert token
    assert phones.word_of(token) == WORD
    assert phones.enter(key) is None
    late = key_of(phones.invite(WORD))
    phones._clock.now += KEY_S + 1  # type: ignore[attr-defined]
    assert phones.enter(late) is None
    assert phones.word_of(token) == WORD
    phones._clock.now += 13 * 3600  # type: ignore[attr-defined]
    assert phones.word_of(token) is None


def test_a_new_code_takes_the_place_of_the_old_and_the_door_can_be_shut(phones: Phones) -> None:
    old, new = key_of(phones.invite(WORD)), key_of(phones.invite(WORD))
    assert phones.enter(old) is None
    token = phones.enter(new)
    other = phones.enter(key_of(phones.invite("o" * 22)))
    assert token
    assert other
    assert (phones.count(WORD), phones.count("o" * 22)) == (1, 1)
    phones.let_out(WORD)
    assert phones.word_of(token) is None
    assert phones.word_of(other) == "o" * 22, "another garment's phone stays"


def test_keys_cannot_be_heaped_up(phones: Phones) -> None:
    for k in range(300):
        phones.invite(f"{k:022d}")
    assert len(phones._keys) <= 50


def test_the_code_is_a_picture_of_the_address(phones: Phones) -> None:
    shown = phone_scene(phones, WORD)
    assert shown["picture"].startswith("data:image/svg+xml")
    assert shown["address"].startswith(f"http://{AT}/phone?key=")
    json.dumps(shown)


@pytest.mark.parametrize(
    "path",
    ["/", f"/?p={WORD}", "/ours/table.js", f"/made/{WORD}/x", f"/news/{WORD}", "/gradio_api/queue/data", "/theme.css"],
)
def test_the_network_gets_nothing_but_the_phones_page(phone: TestClient, path: str) -> None:
    assert phone.get(path, headers=OWN).status_code == 403
    assert phone.post("/gradio_api/queue/join", headers=OWN, json={}).status_code == 403
    assert phone.post("/gradio_api/upload", headers=OWN, content=b"x").status_code == 403


def test_naming_this_computer_as_host_does_not_help(built: tuple[Any, Phones, Path]) -> None:
    with client_at(built[0], "192.168.1.66") as stranger:
        assert stranger.get(f"/?p={WORD}", headers={"host": "127.0.0.1:7860"}).status_code == 403
    with client_at(built[0], "127.0.0.1") as here:
        assert here.get(f"/?p={WORD}", headers={"host": "127.0.0.1:7860"}).status_code == 200
        assert here.get(f"/news/{WORD}", headers={"host": "127.0.0.1:7860"}).json()["revision"] >= 1


def test_without_a_key_the_door_is_shut(phone: TestClient) -> None:
    assert phone.get("/phone").status_code == 403
    assert phone.post("/phone/enter", headers=OWN, content=b"key=guess").status_code == 403
    assert phone.post("/phone/photo?what=cloth", headers=OWN, content=b"x").status_code == 403
    assert phone.post("/phone/enter", headers={"origin": "http://evil.example"}, content=b"key=x").status_code == 403
    assert phone.post("/phone/enter", content=b"key=x").status_code == 403
    said = phone.post("/phone/photo", headers=OWN | {"content-length": str(UPLOAD_LIMIT + 1)}, content=b"x")
    assert said.status_code == 413


def test_a_phone_comes_in_and_its_photo_lies_on_the_shelf(phone: TestClient, built: tuple[Any, Phones, Path]) -> None:
    _, phones, data = built
    key = key_of(phones.invite(WORD))
    knock = phone.get(f"/phone?key={key}", headers={"sec-fetch-site": "cross-site"})
    assert knock.status_code == 200, "a code is followed from outside"
    assert re.findall(r'name="key" value="([\w-]+)"', knock.text) == [key], "looking does not use the key up"
    entered = phone.post("/phone/enter", headers=OWN, content=f"key={key}".encode())
    assert entered.status_code == 303
    assert entered.headers["location"] == "/phone", "the key does not stay in the phone's address"
    cookie = entered.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=lax" in cookie
    assert "path=/phone" in cookie
    assert phone.post("/phone/enter", headers=OWN, content=f"key={key}".encode()).status_code == 403
    page = phone.get("/phone")
    assert page.status_code == 200
    assert "&lt;i&gt;tunic" in page.text
    assert WORD not in page.text
    assert phone.get("/").status_code == 403, "the cookie opens nothing else"
    bad = phone.post("/phone/photo?what=cloth", headers=OWN, content=b"this is no photo")
    assert bad.json()["kind"] == "error"
    assert phone.post("/phone/photo?what=keys", headers=OWN, content=b"x").status_code == 400
    assert phone.post("/phone/photo?what=cloth&reference=__x__", headers=OWN, content=b"x").status_code == 400
    grain = np.random.default_rng(3).integers(120, 150, (480, 640, 3), np.uint8)  # a small photo of a plain cloth
    snapshot = jpeg_bytes(grain)
    sent = phone.post("/phone/photo?what=cloth", headers=OWN, content=snapshot)
    assert sent.json()["kind"] == "note", sent.json()
    assert len(Sessions(data).get(WORD).need().fabrics) == 1
    phones.let_out(WORD)
    assert phone.post("/phone/photo?what=cloth", headers=OWN, content=b"x").status_code == 403


def test_without_the_option_there_is_no_door(tmp_path: Path) -> None:
    with client_at(build_app(tmp_path, hosts=["192.168.1.5"]), "127.0.0.1") as here:
        assert here.get("/phone?key=x").status_code == 404
        assert here.post("/phone/enter", headers=OWN, content=b"key=x").status_code in (404, 405)
        assert "data-phone" not in here.get(f"/?p={WORD}").text


def test_the_address_for_the_phone(monkeypatch: pytest.MonkeyPatch) -> None:
    assert home_address("192.168.7.2", 81) == "http://192.168.7.2:81"
    assert home_address("fd00::2", 81) == "http://[fd00::2]:81"
    monkeypatch.setattr(socket.socket, "getsockname", lambda self: ("10.0.0.7", 40_000))
    monkeypatch.setattr(socket.socket, "connect", lambda self, address: None)
    assert home_address("127.0.0.1", 81) == "http://10.0.0.7:81"

    def alone(self: socket.socket, address: object) -> None:
        raise OSError("Network is unreachable")

    monkeypatch.setattr(socket.socket, "connect", alone)
    with pytest.raises(InputError, match="network"):
        home_address("127.0.0.1", 81)
