"""The gate: what the page's own browser may do, and what nobody may."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from ui.app import build_app
from ui.gate import TALK_LIMIT, UPLOAD_LIMIT, Gate
from ui.parts.scripts import mark

HOST = "127.0.0.1:8123"
OWN = {"origin": f"http://{HOST}"}


def run(coroutine):
    """Run a coroutine in a thread of its own: a browser that another test holds open has a loop in this one."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, coroutine).result()


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    app = build_app(tmp_path_factory.mktemp("data"))
    with TestClient(app, base_url=f"http://{HOST}", follow_redirects=False) as found:
        yield found


def test_a_visit_gets_a_word_of_its_own(client: TestClient) -> None:
    first, second = client.get("/"), client.get("/")
    assert first.status_code == 303
    assert re.fullmatch(r"/\?p=[\w-]{22}", first.headers["location"])
    assert first.headers["location"] != second.headers["location"]
    assert client.get("/?p=../../etc").status_code == 303


def test_the_page_itself_is_served_with_its_rules(client: TestClient) -> None:
    page = client.get("/?p=" + "a" * 22)
    assert page.status_code == 200
    rules = page.headers["content-security-policy"]
    assert "default-src 'self'" in rules
    assert "frame-ancestors 'none'" in rules
    assert page.headers["x-content-type-options"] == "nosniff"


def test_our_scripts_are_kept_at_an_address_that_changes_with_them(client: TestClient) -> None:
    kept = client.get(f"/ours/{mark()}/table.js")
    assert (kept.status_code, "immutable" in kept.headers["cache-control"]) == (200, True)
    assert f"/ours/{mark()}/table.js" in client.get("/?p=" + "a" * 22).text
    assert client.get("/ours/000000000000/table.js").status_code == 404
    assert client.get("/ours/stash.css").headers["cache-control"] == "no-cache"


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example", "evil.example:8123", "", "[::1", "a b"])
def test_another_host_is_refused(client: TestClient, host: str) -> None:
    # A page elsewhere whose name is made to point here (DNS rebinding) still says its own name as the host.
    assert client.get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize("host", ["localhost:8123", "LOCALHOST", "[::1]:8123", "127.0.0.1"])
def test_the_servers_own_names_are_let_in(client: TestClient, host: str) -> None:
    assert client.get("/", headers={"host": host}).status_code == 303


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "null", "https://127.0.0.1:8123", "http://127.0.0.1:9999", None]
)
def test_a_change_from_another_page_is_refused(client: TestClient, origin: str | None) -> None:
    headers = {} if origin is None else {"origin": origin}
    for path in ("/gradio_api/queue/join", "/gradio_api/upload", f"/table/{'a' * 22}/commit"):
        assert client.post(path, headers=headers, json={}).status_code == 403


def test_reading_across_sites_is_refused_but_a_link_may_lead_here(client: TestClient) -> None:
    cross = {"sec-fetch-site": "cross-site"}
    assert client.get("/gradio_api/queue/data?session_hash=x", headers=cross).status_code == 403
    assert client.get("/pictures/" + "a" * 22 + "/front-" + "0" * 24 + ".jpg", headers=cross).status_code == 403
    assert client.get("/", headers=cross).status_code == 303


CLOSED = [
    "/docs", "/redoc", "/openapi.json", "/config", "/config/", "/info", "/login", "/logout", "/monitoring",
    "/monitoring/summary", "/gradio_api/info", "/gradio_api/openapi.json", "/gradio_api/runs", "/gradio_api/app_id",
    "/gradio_api/user", "/gradio_api/token", "/gradio_api/deep_link", "/gradio_api/mcp/sse", "/gradio_api/vibe-code",
    "/gradio_api/file=/etc/passwd", "/gradio_api/proxy=http://example.com/", "/gradio_api/stream/a/b/c/playlist.m3u8",
    "/gradio_api/custom_component/1/client/component/x.js", "/gradio_api/call/act/1", "/gradio_api/queue/status",
    "/gradio_api/profiling/traces", "/svelte/x.js", "/robots.txt", "/pwa_icon", "/dev/reload", "/static/../app.py",
    "/ours/../app.py", "/ours/%2e%2e/app.py", "/made/../../state.json",
]  # fmt: skip


@pytest.mark.parametrize("path", CLOSED)
def test_a_door_that_the_page_does_not_use_is_shut(client: TestClient, path: str) -> None:
    assert client.get(path, headers=OWN).status_code == 404


@pytest.mark.parametrize(
    "path",
    [
        "/gradio_api/run/act", "/gradio_api/api/act", "/gradio_api/call/act", "/gradio_api/component_server",
        "/gradio_api/vibe-edit/", "/gradio_api/undo-vibe-edit", "/gradio_api/process_recording", "/login",
        "/gradio_api/run-history/connect", "/gradio_api/stream/1",
    ],
)  # fmt: skip
def test_a_way_to_call_functions_by_name_is_shut(client: TestClient, path: str) -> None:
    assert client.post(path, headers=OWN, json={"data": []}).status_code == 404


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
def test_other_methods_are_refused(client: TestClient, method: str) -> None:
    assert client.request(method, "/", headers=OWN).status_code == 405


def test_a_deep_link_is_refused(client: TestClient) -> None:
    assert client.get("/?p=" + "a" * 22 + "&deep_link=x").status_code == 404


def test_too_much_is_refused_whether_it_says_so_or_not(client: TestClient) -> None:
    said = client.post("/gradio_api/queue/join", headers=OWN | {"content-length": str(TALK_LIMIT + 1)}, content=b"{}")
    assert said.status_code == 413
    assert "MB" in said.text
    assert UPLOAD_LIMIT > TALK_LIMIT

    seen: list[str] = []

    async def behind(scope: Any, receive: Any, send: Any) -> None:
        while True:
            message = await receive()
            seen.append(message["type"])
            if message["type"] == "http.disconnect" or not message.get("more_body"):
                return

    chunks = iter([{"type": "http.request", "body": b"x" * 1_000_000, "more_body": True}] * 5)

    async def receive() -> Any:
        return next(chunks)

    async def send(message: Any) -> None:
        seen.append(message["type"])

    scope = {
        "type": "http", "method": "POST", "path": "/gradio_api/queue/join", "query_string": b"", "scheme": "http",
        "headers": [(b"host", HOST.encode()), (b"origin", f"http://{HOST}".encode())],
    }  # fmt: skip
    run(Gate(behind, ["127.0.0.1"])(scope, receive, send))
    assert seen == ["http.request", "http.request", "http.disconnect"]


def test_headers_that_would_move_the_page_are_dropped(client: TestClient) -> None:
    page = client.get(
        "/?p=" + "a" * 22, headers={"x-forwarded-host": "evil.example", "x-gradio-server": "http://evil.example"}
    )
    assert page.status_code == 200
    assert "evil.example" not in page.text


def test_nothing_on_the_page_leads_out(client: TestClient) -> None:
    page = client.get("/?p=" + "a" * 22).text
    loads = re.findall(r"""<(?:script|link|img|iframe)[^>]+(?:src|href)=["'](https?:)?//""", page)
    assert not loads


def test_pictures_and_files_come_only_by_their_own_names(client: TestClient, tmp_path: Path) -> None:
    word = "b" * 22
    for path in (
        f"/pictures/{word}/state.json",
        f"/pictures/{word}/front-xyz.jpg",
        f"/made/{word}/state.json",
        "/made/short/x",
    ):
        assert client.get(path).status_code == 404


def test_a_websocket_is_refused() -> None:
    told: list[Any] = []

    async def nothing(*_: Any) -> None:
        raise AssertionError("the gate let a websocket through")

    async def send(message: Any) -> None:
        told.append(message)

    run(Gate(nothing, ["127.0.0.1"])({"type": "websocket", "headers": []}, nothing, send))
    assert told == [{"type": "websocket.close", "code": 1008}]


@pytest.mark.parametrize(
    "file",
    [
        {"path": "/etc/passwd"},
        {"path": "https://example.com/x.png"},
        {"path": "front.png"},
        {"path": None, "url": "https://example.com/x.png"},
        {"path": 7},
        {"path": "{uploads}/../secret.png"},
        {"path": "{uploads}/ab/front.png", "url": "http://169.254.169.254/"},
        {"path": "{uploads}/ab/front.png\0.png"},
    ],
)
def test_an_event_hands_over_uploaded_files_only(client: TestClient, file: dict[str, Any]) -> None:
    from gradio.utils import get_upload_folder

    named = {k: v.replace("{uploads}", get_upload_folder()) if isinstance(v, str) else v for k, v in file.items()}
    event = {
        "data": ["a" * 22, [{"deeper": named | {"meta": {"_type": "gradio.FileData"}}}]],
        "fn_index": 0,
        "session_hash": "x",
    }
    assert client.post("/gradio_api/queue/join", headers=OWN, json=event).status_code == 403


def test_an_event_that_is_no_json_is_refused(client: TestClient) -> None:
    for body in (b"", b"{", b"[" * 100_000):
        assert client.post("/gradio_api/queue/join", headers=OWN, content=body).status_code == 403
