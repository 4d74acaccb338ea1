"""What answers otherwise than a shed does is refused in plain words, within a size and a time."""

import re
import time
from random import Random

import pytest

from fieldapp.device.link import talk as talk_module
from fieldapp.device.link.talk import Talk
from fieldapp.device.link.trouble import LinkError


def head_of(line):
    """Read a whole request and give its head."""
    came = b""
    while b"\r\n\r\n" not in came or len(came) < size_of(came):
        piece = line.recv(65536)
        if not piece:
            break
        came += piece
    return came.partition(b"\r\n\r\n")[0] + b"\r\n\r\n"


def size_of(came):
    head, _, _ = came.partition(b"\r\n\r\n")
    length = re.search(rb"Content-Length: (\d+)", head)
    return len(head) + 4 + (int(length[1]) if length else 0)


def answering(*pieces, pause_s=0.0):
    def serve(line):
        head_of(line)
        for piece in pieces:
            line.sendall(piece)
            time.sleep(pause_s)
    return serve


def ask(there, pin, path="/phone/session/begin"):
    with Talk(there.address, pin) as talk:
        return talk.ask(path, {"device": "p3-k7f2"})


def trouble(there, pin):
    with pytest.raises(LinkError) as told:
        ask(there, pin)
    assert "\n" not in str(told.value)
    assert len(str(told.value)) < 400
    return told.value


def whole(body, status=b"200 OK"):
    return (b"HTTP/1.1 " + status + b"\r\nContent-Length: " + str(len(body)).encode()
            + b"\r\n\r\n" + body)


def test_a_question_and_its_answer_are_json(listener, shed_papers):
    seen = []

    def serve(line):
        seen.append(head_of(line))
        line.sendall(whole(b'{"nonce":"n"}'))
    there = listener(serve)

    assert ask(there, shed_papers.pin) == {"nonce": "n"}
    assert seen[0].startswith(b"POST /phone/session/begin HTTP/1.1\r\nHost: 127.0.0.1:")
    assert b"Content-Type: application/json\r\n" in seen[0]
    assert b"Authorization" not in seen[0]


@pytest.mark.parametrize("answer", [
    b"HTTP/1.1 200 OK\r\nConnection: close\r\n\r\n{\"a\":1}",
    b"HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n3\r\n{\"a\r\n4\r\n\":1}\r\n0\r\n\r\n",
    b"HTTP/1.1 100 Continue\r\n\r\n" + whole(b'{"a":1}')])
def test_every_whole_answer_of_http_is_read(listener, shed_papers, answer):
    assert ask(listener(answering(answer)), shed_papers.pin) == {"a": 1}


def test_one_connection_serves_many_questions_and_a_closed_one_is_opened_again(
        listener, shed_papers):
    def serve(line):
        for body in (b'{"n":1}', b'{"n":2}'):
            head_of(line)
            line.sendall(whole(body))
    there = listener(serve)
    with Talk(there.address, shed_papers.pin) as talk:
        answers = [talk.ask("/a", {})["n"] for _ in range(2)]
        with pytest.raises(LinkError) as told:
            talk.ask("/a", {})
        answers.append(talk.ask("/a", {})["n"])

    assert told.value.code == "cut"
    assert answers == [1, 2, 1]
    assert there.shaken == 2


def test_a_shed_that_closes_after_each_answer_is_asked_on(listener, shed_papers):
    def serve(line):
        head_of(line)
        line.sendall(b"HTTP/1.1 200 OK\r\nConnection: close\r\nContent-Length: 2\r\n\r\n{}")
    there = listener(serve)
    with Talk(there.address, shed_papers.pin) as talk:
        assert [talk.ask("/a", {}) for _ in range(3)] == [{}, {}, {}]

    assert there.shaken == 3


@pytest.mark.parametrize(("answer", "code"), [
    (b"moss\r\n\r\n", "no_shed"),
    (b"\x00\xff" * 500 + b"\r\n\r\n", "no_shed"),
    (whole(b"moss"), "no_shed"), (whole(b"[1]"), "no_shed"), (whole(b""), "no_shed"),
    (whole(b'{"a":1,"a":2}'), "no_shed"), (whole(b"{" * 5000), "no_shed"),
    (whole(b'{"a":"\\ud800"}'), "no_shed"),
    (whole(b"{}", b"302 Found"), "no_shed"), (whole(b"{}", b"204 No"), "no_shed"),
    (whole(b"<html>", b"404 Not Found"), "no_shed"),
    (whole(b'{"refused":1,"code":2}', b"403 No"), "no_shed"),
    (whole(b"Something went wrong", b"500 Oh"), "busy"),
    (whole(b"{}", b"999 Odd"), "no_shed"),
    (b"HTTP/1.1 200 OK\r\n" + b"X: y\r\n" * 200 + b"\r\n", "no_shed"),
    (b"HTTP/1.1 200 OK\r\nX: " + b"y" * 70_000 + b"\r\n\r\n", "no_shed"),
    (b"HTTP/1.1 200 OK\r\nContent-Length: 9\r\n\r\n{}", "cut"),
    (b"HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n9\r\n{}", "cut"),
    (b"HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n{}", "cut"),
    (b"HTTP/1.1 200", "no_shed"), (b"", "cut")])
def test_what_is_no_answer_of_a_shed_is_told_in_plain_words(listener, shed_papers, answer, code):
    error = trouble(listener(answering(answer)), shed_papers.pin)

    assert error.code == code
    assert "othing is lost" in str(error) or "nothing is lost" in str(error)


def test_a_refusal_is_the_sheds_own_sentence_cleaned_and_cut_short(listener, shed_papers):
    body = b'{"refused":"go on\\u0007 from there\\n' + b"x" * 900 + b'","code":"not_so","have":3}'
    error = trouble(listener(answering(whole(body, b"409 No"))), shed_papers.pin)

    assert error.code == "not_so"
    assert str(error).startswith("go on  from there xxx")
    assert len(str(error)) == 300


@pytest.mark.parametrize("length", [b"", b"Content-Length: 3000000\r\n",
                                    b"Transfer-Encoding: chunked\r\n"])
def test_an_answer_beyond_the_size_is_not_read_to_its_end(listener, shed_papers, length):
    sent = 0

    def serve(line):
        nonlocal sent
        head_of(line)
        line.sendall(b"HTTP/1.1 200 OK\r\n" + length + b"\r\n")
        piece = b"8000\r\n" + b" " * 0x8000 + b"\r\n" if b"chunked" in length else b" " * 0x8000
        while sent < 200_000_000:
            line.sendall(piece)
            sent += len(piece)
    error = trouble(listener(serve), shed_papers.pin)

    assert error.code == "answer_too_large"
    assert "more than 1000 kB" in str(error)
    assert sent < 20_000_000


def test_an_answer_that_drips_is_given_up_when_its_time_is_over(
        listener, shed_papers, monkeypatch):
    monkeypatch.setattr(talk_module, "ANSWER_S", 0.5)
    drips = answering(*[b"H", b"T", b"T", b"P"] * 20, pause_s=0.1)
    began = time.monotonic()
    error = trouble(listener(drips), shed_papers.pin)

    assert error.code == "slow"
    assert "too slow" in str(error)
    assert 0.4 < time.monotonic() - began < 2.0


def test_a_body_that_drips_is_given_up_too(listener, shed_papers, monkeypatch):
    monkeypatch.setattr(talk_module, "ANSWER_S", 0.5)
    drips = answering(b"HTTP/1.1 200 OK\r\nContent-Length: 99\r\n\r\n", *[b" "] * 20, pause_s=0.1)

    assert trouble(listener(drips), shed_papers.pin).code == "slow"


def test_a_shed_that_reads_nothing_is_given_up(listener, shed_papers):
    there = listener(lambda line: time.sleep(1.5))
    with Talk(there.address, shed_papers.pin) as talk, pytest.raises(LinkError) as told:
        talk.put("/phone/uploads/0", b"x" * 50_000_000, offset=0, token="", within_s=0.5)

    assert told.value.code == "slow"


def test_a_token_is_in_no_repr_and_no_message(listener, shed_papers):
    token = "moss-token-0123456789"
    there = listener(answering(whole(b'{"refused":"no","code":"expired"}', b"401 No")))
    with Talk(there.address, shed_papers.pin) as talk:
        with pytest.raises(LinkError) as told:
            talk.fetch("/phone/sheet", token=token, most=10, within_s=5.0)
        assert token not in repr(talk) + str(told.value) + repr(told.value)


BEGINNINGS = [b"", b"HTTP/1.1 ", b"HTTP/1.1 200 OK\r\n", b"HTTP/1.1 200 OK\r\nContent-Length: ",
              b"HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n",
              b"HTTP/1.1 200 OK\r\nContent-Length: 2\r\n\r\n", b"HTTP/1.1 403 No\r\n\r\n",
              b"HTTP/1.1 100 Go\r\n\r\n", b"HTTP/1.0 200\r\n\r\n{"]


def test_whatever_bytes_answer_nothing_but_plain_words_comes_of_it(listener, shed_papers):
    """Two hundred answers of chance, from the same seed each time."""
    chance, seen = Random(8417), []

    def serve(line):
        head_of(line)
        line.sendall(chance.choice(BEGINNINGS) + chance.randbytes(chance.randrange(60))
                     + chance.choice((b"", b"\r\n\r\n", b"\r\n{}")))
    there = listener(serve)
    for _ in range(200):
        try:
            assert ask(there, shed_papers.pin) == {}
        except LinkError as error:
            seen.append(error.code)

    assert set(seen) <= {"no_shed", "cut", "busy"}
    assert len(seen) > 150
