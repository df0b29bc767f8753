"""The API: the same acts as the pages, told by one document, each refusal in one shape."""

from __future__ import annotations

import io
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from tests.web.bench import BenchClient, client_of
from tests.web.stocked import ODOMETER, Stocked, signed_in

from twoturn.acts.drive_files import shipped_drives
from twoturn.acts.shop import jobs
from twoturn.acts.shop.record import restore, verify
from twoturn.acts.shop.shop import open_shop
from twoturn.web.api.openapi import document, every_endpoint
from twoturn.web.routes import all_pages

Ask = Callable[..., Any]
REMARK = {"kind": "remark", "text": "coolant hose soft"}


@pytest.fixture
def ask(stocked: Stocked) -> Iterator[Ask]:
    """``ask("POST", path, json=...)`` of the bench of one person, with the token."""
    with client_of(stocked.shop) as client:
        yield asker(client)


def asker(client: BenchClient) -> Ask:
    """Asks by method and path, with the token in its header."""

    def ask(method: str, path: str, key: str | None = None, **more: Any) -> Any:
        headers = {"x-csrf": client.get("/api/session").json()["csrf"]}
        headers |= {} if key is None else {"idempotency-key": key}
        return client.request(method, path, headers=headers | more.pop("headers", {}), **more)

    return ask


def test_every_answer_of_the_api_is_in_its_document() -> None:
    paths = document()["paths"]
    told = {(path, method.upper()) for path, item in paths.items() for method in item}
    served = {(asked.plain_path, asked.method) for asked in every_endpoint()}
    by_pages = {(page.path, page.methods[0]) for page in all_pages() if page.path.startswith("/api/")}
    assert told == served
    assert {(one.path, one.method) for one in every_endpoint()} == by_pages - {("/api/openapi.json", "GET")}
    ids = [operation["operationId"] for item in paths.values() for operation in item.values()]
    assert len(ids) == len(set(ids))


def _bounded(schema: dict[str, Any], where: str) -> Iterator[str]:
    """Places of a schema that take a number or text without bounds."""
    if "$ref" in schema:
        schema = document()["components"]["schemas"][schema["$ref"].rsplit("/", 1)[1]]
    for index, one in enumerate(schema.get("anyOf", ())):
        yield from _bounded(one, f"{where}|{index}")
    kind = schema.get("type")
    if "enum" in schema or "const" in schema:
        return
    if kind in {"integer", "number"} and not {"minimum", "maximum"} <= set(schema):
        yield where
    if kind == "string" and not {"maxLength", "pattern", "format"} & set(schema):
        yield where
    if kind == "array":
        if "maxItems" not in schema:
            yield where
        yield from _bounded(schema["items"], f"{where}[]")
    for name, one in schema.get("properties", {}).items():
        yield from _bounded(one, f"{where}.{name}")


def test_every_field_that_is_taken_has_bounds() -> None:
    found: list[str] = []
    for path, item in document()["paths"].items():
        for operation in item.values():
            for content in operation.get("requestBody", {}).get("content", {}).values():
                found += _bounded(content["schema"], path)
            for parameter in operation["parameters"]:
                found += _bounded(parameter["schema"], f"{path} {parameter['name']}")
    assert not found


def test_the_list_of_questions_is_a_page_of_the_bench_and_asks_nothing_from_outside(stocked: Stocked) -> None:
    with client_of(stocked.shop) as client:
        page = client.get("/api").text
        assert "POST /api/jobs/{job}/entries" in page
        assert "://" not in page.replace("http://127.0.0.1:8642", "")
        assert client.get("/api/openapi.json").json()["openapi"] == "3.1.0"


def test_entries_are_added_once_for_each_key(stocked: Stocked, ask: Ask) -> None:
    path = f"/api/jobs/{stocked.job}/entries"
    first = ask("POST", path, "k1", json={"entries": [REMARK], "after": 1})
    assert first.status_code == 200
    assert (first.json()["first"], first.json()["count"], first.json()["repeated"]) == (2, 1, False)
    assert first.json()["view"]["record"]["entries"] == 2
    assert first.json()["view"]["entries"][-1]["by"] == "lead one"
    again = ask("POST", path, "k1", json={"entries": [REMARK]})
    assert (again.status_code, again.json()["first"], again.json()["repeated"]) == (200, 2, True)
    assert ask("POST", path, json={"entries": [REMARK]}).status_code == 400
    other = ask("POST", path, "k1", json={"entries": [{**REMARK, "text": "hose hard"}]})
    assert other.status_code == 422
    assert other.json()["error"]["sentence"].startswith("The key of this sending was used before")
    kept = ask("GET", path).json()
    assert [entry["content"]["kind"] for entry in kept] == ["odometer", "remark"]
    assert kept[1]["previous_hash"] == kept[0]["hash"]


def test_a_key_whose_sending_is_under_way_is_told_to_come_again(stocked: Stocked, ask: Ask) -> None:
    path = f"/api/jobs/{stocked.job}/entries"
    with stocked.shop.sending.claim("k1"):
        assert ask("POST", path, "k1", json={"entries": [REMARK]}).status_code == 409
        assert ask("POST", path, "k2", json={"entries": [REMARK]}).status_code == 200
    assert ask("POST", path, "k1", json={"entries": [REMARK]}).status_code == 200


def test_one_sending_that_comes_many_times_at_once_is_written_once(stocked: Stocked) -> None:
    statuses: list[int] = []

    def send() -> None:
        with client_of(stocked.shop) as client:
            answer = asker(client)("POST", f"/api/jobs/{stocked.job}/entries", "same", json={"entries": [REMARK]})
        statuses.append(answer.status_code)

    threads = [threading.Thread(target=send) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert set(statuses) <= {200, 409}
    assert 200 in statuses
    assert jobs.held_job(stocked.shop, stocked.job).row.entries == 2


def test_an_entry_that_waited_was_typed_so_much_earlier_and_the_same_when_it_comes_again(
    stocked: Stocked, ask: Ask
) -> None:
    path = f"/api/jobs/{stocked.job}/entries"
    ask("POST", path, "k1", json={"entries": [REMARK], "waited_s": 7200.0})
    assert ask("POST", path, "k1", json={"entries": [REMARK], "waited_s": 9000.5}).json()["repeated"]
    line = ask("GET", f"/api/jobs/{stocked.job}").json()["entries"][-1]
    assert line["marks"] == ["came 2 hours after it was typed"]


def test_faults_of_entries_are_told_key_by_key_and_nothing_is_written(stocked: Stocked, ask: Ask) -> None:
    rows = [ODOMETER, {"kind": "odometer", "km": -1}, {"kind": "remrk"}]
    answer = ask("POST", f"/api/jobs/{stocked.job}/entries", "k1", json={"entries": rows})
    assert answer.status_code == 422
    assert {"entry[3].km", "entry[4].kind"} <= set(answer.json()["error"]["fields"])
    assert jobs.held_job(stocked.shop, stocked.job).row.entries == 1


@pytest.mark.parametrize(
    ("body", "kind", "status"),
    [
        (b'{"entries": [', "application/json", 422),
        (b"", "application/json", 422),
        (b"\xff\xfe", "application/json", 422),
        (b'{"entries": [{"kind": "remark", "text": "\\ud800"}]}', "application/json", 422),
        (b'{"entries": [{"kind": "odometer", "km": NaN}]}', "application/json", 422),
        (b'{"entries": [{"kind": "odometer", "km": ' + b"9" * 5000 + b"}]}", "application/json", 422),
        (b'{"entries": ' + b"[" * 5000 + b"]" * 5000 + b"}", "application/json", 422),
        (b'{"entries": [{"kind": "remark", "text": "a"}], "extra": 1}', "application/json", 422),
        (b'{"entries": [{"kind": "remark", "text": "a"}]}', "text/plain", 415),
        (b'{"entries": [{"kind": "remark", "text": "' + b"a" * 2_100_000 + b'"}]}', "application/json", 413),
    ],
)
def test_what_is_no_sending_is_refused_in_one_shape(
    stocked: Stocked, ask: Ask, body: bytes, kind: str, status: int
) -> None:
    answer = ask("POST", f"/api/jobs/{stocked.job}/entries", "k1", content=body, headers={"content-type": kind})
    assert answer.status_code == status, answer.text[:300]
    assert set(answer.json()["error"]) == {"status", "sentence", "message", "allowed", "next_step", "fields"}
    assert jobs.held_job(stocked.shop, stocked.job).row.entries == 1


def test_a_job_from_vehicle_to_closed(stocked: Stocked, ask: Ask) -> None:
    vehicle = ask("POST", "/api/vehicles", json={"registration": "qx-11 demo", "hybrid": False, "odometer_km": 90000})
    assert vehicle.status_code == 201
    saved = vehicle.json()["vehicle"]
    assert (saved["hybrid"], saved["stop_start"]) == (False, None)
    version = ask("GET", "/api/drives?words=alder").json()[0]["version_id"]
    job = ask("POST", "/api/jobs", json={"vehicle_id": saved["id"], "version_id": version}).json()
    assert ask("GET", f"/api/jobs/{job['id']}/plan").json()["steps"]
    lines = ask("GET", "/api/jobs").json()
    assert {line["number"] for line in lines} == {1, job["number"]}
    assert ask("POST", f"/api/jobs/{job['id']}/close").json()["closed_at"] is not None
    assert [line["id"] for line in ask("GET", "/api/jobs/closed?most=1").json()] == [job["id"]]
    assert ask("POST", f"/api/jobs/{job['id']}/reopen").json()["closed_at"] is None
    assert ask("PUT", f"/api/jobs/{job['id']}/note", json={"note": "on ramp 2"}).json()["note"] == "on ramp 2"
    page = ask("GET", f"/api/vehicles/{saved['id']}").json()
    assert [one["number"] for one in page["jobs"]] == [job["number"]]
    assert page["odometers"][0]["km"] == 90000


def test_fields_of_a_form_that_cannot_be_are_told_by_name(stocked: Stocked, ask: Ask) -> None:
    answer = ask("POST", "/api/vehicles", json={"registration": "QX 1", "vin": "123", "fuel": "coal"})
    assert answer.status_code == 422
    assert set(answer.json()["error"]["fields"]) == {"vin", "fuel"}
    answer = ask("POST", "/api/vehicles", json={"registration": 5, "hybrid": "yes"})
    assert set(answer.json()["error"]["fields"]) == {"registration", "hybrid"}


def test_odometers_are_added(stocked: Stocked, ask: Ask) -> None:
    path = f"/api/vehicles/{stocked.vehicle}"
    assert ask("POST", f"{path}/odometers", json={"km": 1000, "read_on": "2020-01-31"}).status_code == 204
    assert ask("POST", f"{path}/odometers", json={"km": 1000, "read_on": "2020-13-31"}).status_code == 422
    assert [one["km"] for one in ask("GET", path).json()["odometers"]] == [118000, 1000]
    changed = ask("PUT", path, json={"registration": "QX 12 DEMO", "customer": "Field"}).json()["vehicle"]
    assert (changed["customer"], changed["model"]) == ("Field", None)


def test_drives_are_looked_at_kept_changed_copied_and_put_away(stocked: Stocked, ask: Ask) -> None:
    text = shipped_drives()["birch-two-cams"]
    assert ask("POST", "/api/drives/look", json={"text": "format = 1"}).json()
    assert ask("POST", "/api/drives/look", json={"text": text}).json() == []
    kept = ask("POST", "/api/drives", json={"text": text})
    assert kept.status_code == 201
    assert ask("POST", "/api/drives", json={"text": text}).json() == kept.json()
    assert ask("POST", "/api/drives", json={"text": text + "\n# another\n"}).status_code == 422
    version = kept.json()
    assert ask("GET", f"/api/versions/{version['id']}/text").text == text
    assert ask("GET", f"/api/versions/{version['id']}/plan").json()["steps"]
    changed = text.replace("teeth", "teeth ", 1)
    path = f"/api/drives/{version['drive_id']}"
    assert ask("POST", f"{path}/versions", json={"text": changed, "after": 1}).json()["number"] == 2
    assert ask("POST", f"{path}/versions", json={"text": text + "\n", "after": 1}).status_code == 422
    assert [one["number"] for one in ask("GET", f"{path}/versions").json()] == [2, 1]
    copied = ask("POST", f"/api/versions/{version['id']}/copies", json={"name": "Birch as we know it, invented"})
    assert copied.status_code == 201
    assert ask("PUT", f"{path}/offered", json={"offered": False}).status_code == 204
    assert version["drive_id"] not in {one["drive_id"] for one in ask("GET", "/api/drives").json()}
    assert version["drive_id"] in {one["drive_id"] for one in ask("GET", "/api/drives?every=true").json()}


def test_a_drive_with_faults_is_refused_with_each_of_them(stocked: Stocked, ask: Ask) -> None:
    answer = ask("POST", "/api/drives", json={"text": 'format = 1\nname = "x"\n[[belt]]\nid = "b"\n'})
    assert answer.status_code == 422
    assert answer.json()["error"]["fields"]


def test_files_of_a_job_are_sent_listed_and_fetched(stocked: Stocked, ask: Ask) -> None:
    path = f"/api/jobs/{stocked.job}/files"
    sent = {"files": {"file": ("cranking.csv", b"t,v\n0,1\n")}, "data": {"kind": "capture"}}
    kept = ask("POST", path, **sent)
    assert kept.status_code == 201
    assert ask("POST", path, **sent).json() == kept.json()
    assert ask("GET", path).json() == {"cranking.csv": kept.json()["sha256"]}
    fetched = ask("GET", f"{path}/cranking.csv")
    assert fetched.content == b"t,v\n0,1\n"
    assert fetched.headers["content-disposition"].startswith("attachment")
    photo = io.BytesIO()
    Image.new("RGB", (40, 30), "red").save(photo, "PNG")
    kept = ask("POST", path, files={"file": ("front.png", photo.getvalue())}, data={"kind": "photo", "name": "a/b.png"})
    assert kept.json()["name"] == "b.jpg"
    assert ask("GET", f"{path}/b.jpg").headers["content-disposition"].startswith("inline")
    assert ask("POST", path, data={"kind": "photo"}).status_code == 422
    assert ask("POST", path, files={"file": ("x.jpg", b"nothing")}, data={"kind": "photo"}).status_code == 422
    assert ask("POST", path, files={"file": ("x.jpg", b"nothing")}, data={"kind": "song"}).status_code == 422


def test_torque_tools_and_settings(stocked: Stocked, ask: Ask) -> None:
    tool = ask("POST", "/api/tools", json={"name": "B", "low_nm": 40.0, "high_nm": 200.0})
    assert tool.status_code == 201
    path = f"/api/tools/{tool.json()['id']}"
    assert ask("POST", f"{path}/calibrations", json={"on": "2025-11-01", "valid_months": 6}).status_code == 201
    assert ask("GET", path).json()["until"] == "2026-05-01"
    assert ask("PUT", path, json={"name": "A"}).status_code == 422
    assert ask("PUT", path, json={"name": "B2", "active": False}).json()["active"] is False
    assert [line["tool"]["name"] for line in ask("GET", "/api/tools").json()] == ["A", "B2"]
    assert ask("PUT", "/api/settings", json={"shop_name": "Field & Daughter"}).status_code == 200
    assert ask("GET", "/api/settings").json()["shop_name"] == "Field & Daughter"


def test_the_record_is_looked_through_and_taken_along(stocked: Stocked, ask: Ask, tmp_path: Path) -> None:
    found = ask("GET", "/api/record").json()
    assert found == {"whole": True, "problems": [], "jobs": 1, "entries": 1, "sheets": 0, "files": 0}
    file = tmp_path / "backup.zip"
    file.write_bytes(ask("POST", "/api/backup").content)
    restore(file, tmp_path / "elsewhere")
    with open_shop(tmp_path / "elsewhere") as again:
        assert verify(again).whole
        assert jobs.held_job(again, stocked.job).row == jobs.held_job(stocked.shop, stocked.job).row


def test_people_sign_in_and_out_and_a_lead_changes_them(stocked: Stocked) -> None:
    with signed_in(stocked.shop, "lead") as client:
        ask = asker(client)
        assert client.get("/api/session").json()["person"]["role"] == "lead"
        new = ask("POST", "/api/people", json={"name": "Tom Reed", "role": "trainee", "pin": "583214"})
        assert new.status_code == 201
        path = f"/api/people/{new.json()['id']}"
        assert ask("PUT", path, json={"role": "technician"}).json()["role"] == "technician"
        assert ask("PUT", path, json={"pin": "1111"}).status_code == 422
        assert "Tom Reed" in {one["name"] for one in ask("GET", "/api/people").json()}
        assert ask("DELETE", "/api/session").status_code == 204
        assert client.get("/api/people").status_code == 401
        wrong = ask("POST", "/api/session", json={"name": "Tom Reed", "pin": "0000"})
        assert wrong.status_code == 422
        good = ask("POST", "/api/session", json={"name": "Tom Reed", "pin": "583214"})
        assert (good.status_code, good.json()["person"]["name"]) == (200, "Tom Reed")


def test_entries_bear_the_name_of_who_is_signed_in(stocked: Stocked) -> None:
    with signed_in(stocked.shop, "trainee") as client:
        ask = asker(client)
        path = f"/api/jobs/{stocked.job}/entries"
        assert ask("POST", path, "k1", json={"entries": [REMARK]}).status_code == 200
        assert ask("POST", path, "k2", json={"entries": [{**REMARK, "by": "lead one"}]}).status_code == 422
        assert (
            ask("POST", path, "k3", json={"entries": [{"kind": "override", "check": "x", "reason": "y"}]}).status_code
            == 403
        )
        assert ask("GET", path).json()[1]["by"] == "trainee one"


def test_what_is_not_there_is_told(stocked: Stocked, ask: Ask) -> None:
    for path in (
        "jobs/77",
        "vehicles/77",
        "versions/77",
        "tools/77",
        "jobs/1/files/none.csv",
        "jobs/99999999999999999999",
    ):
        answer = ask("GET", f"/api/{path}")
        assert answer.status_code == 404, path
        assert answer.json()["error"]["status"] == 404
    assert ask("POST", "/api/jobs", json={"vehicle_id": 77, "version_id": stocked.version}).status_code == 404
    assert ask("GET", "/api/nothing").status_code == 404
    assert ask("DELETE", f"/api/jobs/{stocked.job}").status_code == 405
    assert ask("DELETE", f"/api/jobs/{stocked.job}/entries").headers["allow"] == "GET, HEAD, POST"
