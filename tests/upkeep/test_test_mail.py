"""The command test_mail: one mail, or the reason why not."""

import pytest
from django.core import mail
from django.core.management import CommandError, call_command


def test_one_mail_is_sent(capsys: pytest.CaptureFixture[str]) -> None:
    call_command("test_mail", "ada@quillfeather.example")
    assert [(sent.to, sent.subject) for sent in mail.outbox] == [(["ada@quillfeather.example"], "Test from Hardstand")]
    assert "Handed over" in capsys.readouterr().out


@pytest.mark.parametrize("address", ["ada", "a@b", "ada@quillfeather.example\nBcc: eve@evil.example", ""])
def test_what_is_no_address_is_refused(address: str) -> None:
    with pytest.raises(CommandError, match="Not sent"):
        call_command("test_mail", address)
    assert mail.outbox == []


def test_a_server_that_does_not_answer_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(self: object, **more: object) -> int:
        raise ConnectionRefusedError(111, "Connection refused")

    monkeypatch.setattr(mail.EmailMessage, "send", refused)
    with pytest.raises(CommandError, match=r"Not sent\..*Connection refused"):
        call_command("test_mail", "ada@quillfeather.example")
