"""The payment page: contract read, agreed work, an estimate made and taken again."""

from __future__ import annotations

from fastapi.testclient import TestClient

from tests.operations.test_pay_commands import CONTRACT

HERE = {"Origin": "http://testserver"}


def send(client: TestClient, address: str, code: int = 303, **fields: str) -> str:
    """Send a form; the answer's text."""
    answer = client.post(address, data=fields, headers=HERE, follow_redirects=False)
    assert answer.status_code == code, answer.text
    return answer.text


def test_from_no_contract_to_an_estimate(empty: TestClient) -> None:
    assert "There is no contract yet" in empty.get("/payment").text
    example = empty.get("/payment/contract.toml")
    assert "[[items]]" in example.text
    answer = empty.post(
        "/payment/contract",
        data={"by": "Ada", "reason": "signed"},
        files={"file": ("contract.toml", CONTRACT.encode(), "text/plain")},
        headers=HERE,
        follow_redirects=False,
    )
    assert answer.status_code == 303
    send(
        empty, "/payment/agreed", key="M-1", item="4", amount="0.5", on="2026-11-16",
        reason="half at the start", by="Ada",
    )  # fmt: skip
    page = empty.get("/payment").text
    assert "2,500.00 USD" in page
    assert "M-1" in page
    send(empty, "/payment/estimate", until="2026-11-30", by="Ada")
    page = empty.get("/payment").text
    assert "2,250.00 USD" in page  # less 10 %
    pdf = empty.get("/payment/estimates/1.pdf")
    assert pdf.content.startswith(b"%PDF")
    assert empty.get("/payment/estimates/1.xlsx").content.startswith(b"PK")
    assert empty.get("/payment/estimates/2.pdf").status_code == 404


def test_what_is_wrong_is_told(empty: TestClient) -> None:
    told = empty.post(
        "/payment/contract",
        data={"by": "Ada", "reason": "signed"},
        files={"file": ("contract.toml", b"name = 3", "text/plain")},
        headers=HERE,
    )
    assert told.status_code in {400, 422}
    assert "there is no pay item" in told.text
    assert "say who you are" in send(empty, "/payment/estimate", told.status_code, until="soon")
