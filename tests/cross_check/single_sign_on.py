"""Signing in with an account of one's organisation, against a provider that others wrote.

Usage: single_sign_on.py MELTRANGE. oidc-provider-mock (on Authlib) is the provider, requests the browser; what the
program serves is the real one, guarded, on loopback. Between program and provider sits a thin layer that notes what
passes and can tamper with it: another nonce, another audience, an altered signature, a longer way. Looked at:
- the happy path by invitation and by group, with PKCE (RFC 7636), state and nonce as the standards have them;
- another state, another browser (login CSRF), a code that is shown twice, a return that nobody began;
- a token for another program, of another sign-in, with a broken signature, or over;
- somebody says no, the provider is away and comes back with other keys, the account here is locked, a name that is taken.
Ends with status 1 and the first differences.
"""

import base64
import hashlib
import json
import logging
import os
import re
import socket
import subprocess
import sys
import tempfile
import threading
import time
from datetime import timedelta
from pathlib import Path
from urllib.parse import parse_qs, urlencode, urlsplit

import oidc_provider_mock
import requests
from oidc_provider_mock import app as provider_app
from werkzeug.serving import make_server

PROGRAM = sys.argv[1]
SECRET = "a kettle full of tuesday"
PASSPHRASE = "three owls on a warm block"
GOOD_GROUP, STUDENT_GROUP = "chem-staff", "evening"

failures = 0


def check(what: str, holds: bool, found: object = "") -> None:
    global failures
    if not holds:
        failures += 1
    print(f"{'agrees' if holds else 'DIFFERS'}: {what}{'' if holds else f' ({found})'}", flush=True)


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


class Provider:
    """The provider, and what sits before it."""

    def __init__(self) -> None:
        self.port = free_port()
        self.seen: list[tuple[str, dict]] = []
        self.tamper = lambda path, query, body: (query, body)
        self.alter = lambda path, answer: answer
        self.server = None
        self.app = provider_app(access_token_max_age=timedelta(minutes=5))

    @property
    def issuer(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self, app: object = None) -> None:
        inner = app or self.app

        def layer(environ: dict, start_response: object) -> list[bytes]:
            import io

            path = environ["PATH_INFO"]
            length = int(environ.get("CONTENT_LENGTH") or 0)
            body = environ["wsgi.input"].read(length) if length else b""
            form = {"body": body.decode(), "authorization": environ.get("HTTP_AUTHORIZATION", "")}
            self.seen.append((path, form))
            query, body = self.tamper(path, environ.get("QUERY_STRING", ""), body)
            environ.update(QUERY_STRING=query, CONTENT_LENGTH=str(len(body)))
            environ["wsgi.input"] = io.BytesIO(body)
            held: dict = {}

            def hold(status: str, headers: list, exc_info: object = None) -> None:
                held.update(status=status, headers=headers)

            answer = b"".join(inner(environ, hold))
            answer = self.alter(path, answer)
            headers = [(k, v) for k, v in held["headers"] if k.lower() != "content-length"]
            start_response(held["status"], [*headers, ("Content-Length", str(len(answer)))])
            return [answer]

        self.server = make_server("127.0.0.1", self.port, layer, threaded=True)
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def stop(self) -> None:
        self.server.shutdown()
        self.server.server_close()

    def user(self, subject: str, **claims: object) -> None:
        answer = requests.put(f"{self.issuer}/users/{subject}", json=claims, timeout=10)
        answer.raise_for_status()

    def asked_for_tokens(self) -> list[dict]:
        return [form for path, form in self.seen if path == "/oauth2/token"]


class Served:
    """The program."""

    def __init__(self, book: Path, sign_in: Path) -> None:
        environment = {**os.environ, "MELTRANGE_OIDC_SECRET": SECRET}
        command = [PROGRAM, "serve", book, "--guarded", "--port", "0", "--no-open", "--sign-in", sign_in]
        self.process = subprocess.Popen(list(map(str, command)), env=environment, text=True,
                                        stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        first = self.process.stdout.readline()
        found = re.search(r"http://127\.0\.0\.1:\d+", first)
        if not found:
            sys.exit(f"it does not serve: {first}{self.process.stderr.read()}")
        self.address = found[0]

    def stop(self) -> str:
        self.process.terminate()
        return self.process.communicate(timeout=30)[1]


class Browser:
    """Somebody's browser. It keeps cookies; scripts of the page send x-own-page."""

    def __init__(self, served: Served) -> None:
        self.served = served
        self.session = requests.Session()

    def api(self, method: str, path: str, body: object = None) -> requests.Response:
        return self.session.request(method, f"{self.served.address}/api/{path}", json=body,
                                    headers={"x-own-page": "1"}, timeout=30)

    def begin(self, **request: object) -> str:
        answer = self.api("POST", "sign-in", request)
        if answer.status_code != 200:
            sys.exit(f"sign-in does not begin: {answer.status_code} {answer.text}")
        return answer.json()["address"]

    def consent(self, address: str, subject: str, action: str = "") -> str:
        """At the provider; the address that it sends the browser back to."""
        form = {"action": action} if action else {"sub": subject}
        answer = self.session.post(address, data=form, allow_redirects=False, timeout=10)
        if answer.status_code not in (302, 303):
            sys.exit(f"the provider does not send back: {answer.status_code} {answer.text[:400]}")
        return answer.headers["location"]

    def back(self, address: str) -> requests.Response:
        # As a browser says of a way in from another site.
        return self.session.get(address, allow_redirects=False, timeout=30,
                                headers={"sec-fetch-site": "cross-site", "sec-fetch-mode": "navigate"})

    def sign_in(self, subject: str, **request: object) -> requests.Response:
        return self.back(self.consent(self.begin(**request), subject))

    def who(self) -> str | None:
        person = self.api("GET", "me").json()["person"]
        return person and person["name"]


def goes_to(answer: requests.Response, where: str) -> bool:
    return answer.status_code == 303 and answer.headers["location"] == where


def refused(answer: requests.Response, why: str) -> bool:
    sets_session = "session-" in answer.headers.get("set-cookie", "")
    return goes_to(answer, f"/#/sign-in?trouble={why}") and not sets_session


def meltrange(*arguments: object) -> dict:
    done = subprocess.run([PROGRAM, "--quiet", *map(str, arguments), "--json"], capture_output=True, text=True)
    if done.returncode:
        sys.exit(f"{arguments}: {done.stdout}{done.stderr}")
    return json.loads(done.stdout) if done.stdout else {}


def params(address: str) -> dict[str, str]:
    return {key: values[0] for key, values in parse_qs(urlsplit(address).query).items()}


def look_at_happy_path(provider: Provider, served: Served, supervisor: Browser) -> Browser:
    fink = Browser(served)
    me = fink.api("GET", "me").json()
    check("the pages hear whom people can sign in with", me["organisation"] == "Example College", me)
    answer = fink.api("POST", "sign-in", {})
    cookie = answer.headers["set-cookie"]
    check("the state's cookie comes back from elsewhere, is short-lived and hidden from scripts",
          all(word in cookie for word in ("SameSite=Lax", "HttpOnly", "Max-Age=600", "Path=/")), cookie)
    address = answer.json()["address"]
    asked = params(address)
    expected = {"response_type": "code", "client_id": "bench", "code_challenge_method": "S256",
                "redirect_uri": f"{served.address}/api/sign-in/return"}
    check("an authentication request as OpenID Connect Core 3.1.2.1 has it",
          expected.items() <= asked.items() and "openid" in asked["scope"].split(), asked)
    check("state and nonce have 256 bits and differ", len({asked["state"], asked["nonce"]}) == 2
          and min(len(asked["state"]), len(asked["nonce"])) >= 43, asked)
    back = fink.consent(address, "fink-1")
    answer = fink.back(back)
    check("a member of a group with a role is let in", goes_to(answer, "/#/today"), answer.headers)
    cookie = answer.headers["set-cookie"]
    check("their session is shown to no other site", "SameSite=Strict" in cookie and "HttpOnly" in cookie, cookie)
    check("with the name that the organisation has", fink.who() == "B. Fink", fink.who())
    check("and the role of the group", fink.api("GET", "me").json()["person"]["role"] == "analyst")
    token = provider.asked_for_tokens()[-1]
    form = {key: values[0] for key, values in parse_qs(token["body"]).items()}
    challenge = base64.urlsafe_b64encode(hashlib.sha256(form["code_verifier"].encode()).digest()).rstrip(b"=").decode()
    check("the verifier is that of the challenge (RFC 7636, 4.6)", challenge == asked["code_challenge"], form)
    given = base64.b64decode(token["authorization"].removeprefix("Basic ")).decode()
    # RFC 6749, 2.3.1: each part form-encoded.
    check("the secret goes in the header", given == f"bench:{SECRET.replace(' ', '+')}", given)
    answer = fink.back(back)
    check("the same return a second time lets nobody in", refused(answer, "not-begun"), answer.headers)
    again = Browser(served)
    check("they come in again as the same person", goes_to(again.sign_in("fink-1", to="#/samples"), "/#/samples")
          and again.who() == "B. Fink", again.who())
    people = supervisor.api("GET", "people").json()["people"]
    check("who is in the book once", [p["name"] for p in people].count("B. Fink") == 1, people)
    return fink


def look_at_attacks(provider: Provider, served: Served) -> None:
    def tampered(what: str, why: str, tamper: object = None, alter: object = None) -> None:
        if tamper:
            provider.tamper = tamper
        if alter:
            provider.alter = alter
        browser = Browser(served)
        answer = browser.sign_in("fink-1")
        check(what, refused(answer, why) and browser.who() is None, answer.headers)
        provider.tamper = lambda path, query, body: (query, body)
        provider.alter = lambda path, answer: answer

    mallory, victim = Browser(served), Browser(served)
    back = mallory.consent(mallory.begin(), "fink-1")
    answer = victim.back(back)
    check("a return that another browser began is refused (login CSRF)", refused(answer, "not-begun"), answer.headers)
    victim.begin()
    answer = victim.back(back)
    check("also where this browser began one of its own", refused(answer, "not-begun"), answer.headers)
    check("and is still good where it was begun", goes_to(mallory.back(back), "/#/today"))
    browser = Browser(served)
    back = browser.consent(browser.begin(), "fink-1")
    query = {**params(back), "state": "A" * 43}
    answer = browser.back(f"{back.split('?')[0]}?{urlencode(query)}")
    check("another state is refused", refused(answer, "not-begun"), answer.headers)
    answer = Browser(served).back(f"{served.address}/api/sign-in/return")
    check("a return without anything is refused", refused(answer, "not-begun"), answer.headers)
    # A code that was used: shown again with a state of one's own.
    first = Browser(served)
    back = first.consent(first.begin(), "fink-1")
    first.back(back)
    second = Browser(served)
    own = params(second.begin())["state"]
    answer = second.back(f"{served.address}/api/sign-in/return?{urlencode({'code': params(back)['code'], 'state': own})}")
    check("a code that was used is good no more", refused(answer, "not-good"), answer.headers)
    third = Browser(served)
    stolen = third.consent(third.begin(), "fink-1")
    fourth = Browser(served)
    own = params(fourth.begin())["state"]
    answer = fourth.back(f"{served.address}/api/sign-in/return?{urlencode({'code': params(stolen)['code'], 'state': own})}")
    check("a code of another sign-in brings a token of another nonce, which is refused", refused(answer, "not-good"),
          answer.headers)

    def other(name: str, value: str) -> object:
        def tamper(path: str, query: str, body: bytes) -> tuple[str, bytes]:
            if path == "/oauth2/authorize":
                query = urlencode({**params(f"?{query}"), name: value})
            return query, body
        return tamper

    tampered("a token with another nonce", "not-good", tamper=other("nonce", "B" * 43))

    def other_audience(path: str, query: str, body: bytes) -> tuple[str, bytes]:
        if path == "/oauth2/authorize":
            query = urlencode({**params(f"?{query}"), "client_id": "choir"})
        return query, body

    # The code is the choir's, and so is the token: the client that asks is changed on the way, too.
    inner = provider.app.wsgi_app

    def as_the_choir(environ: dict, start_response: object) -> object:
        if environ["PATH_INFO"] == "/oauth2/token":
            environ["HTTP_AUTHORIZATION"] = "Basic " + base64.b64encode(b"choir:x").decode()
        return inner(environ, start_response)

    provider.app.wsgi_app = as_the_choir
    tampered("a token for another program", "not-good", tamper=other_audience)
    provider.app.wsgi_app = inner

    def token(change: object) -> object:
        def alter(path: str, answer: bytes) -> bytes:
            if path != "/oauth2/token":
                return answer
            said = json.loads(answer)
            said["id_token"] = change(said["id_token"])
            return json.dumps(said).encode()
        return alter

    def flipped(text: str) -> str:
        head, body, signature = text.split(".")
        raw = bytearray(base64.urlsafe_b64decode(signature + "=="))
        raw[10] ^= 1
        return f"{head}.{body}.{base64.urlsafe_b64encode(bytes(raw)).rstrip(b'=').decode()}"

    def part(said: object) -> str:
        return base64.urlsafe_b64encode(json.dumps(said).encode()).rstrip(b"=").decode()

    def claims(text: str) -> dict:
        body = text.split(".")[1]
        return json.loads(base64.urlsafe_b64decode(body + "=" * (-len(body) % 4)))

    def by_secret(text: str) -> str:
        import hmac
        signed = f"{part({'alg': 'HS256', 'typ': 'JWT'})}.{part(claims(text))}"
        mac = hmac.new(SECRET.encode(), signed.encode(), hashlib.sha256).digest()
        return f"{signed}.{base64.urlsafe_b64encode(mac).rstrip(b'=').decode()}"

    tampered("a token whose signature is one bit off", "not-good", alter=token(flipped))
    tampered("a token that nobody signed", "not-good",
             alter=token(lambda text: f"{part({'alg': 'none'})}.{part(claims(text))}."))
    tampered("a token signed with the shared secret", "not-good", alter=token(by_secret))
    tampered("a token endpoint that answers with megabytes", "away",
             alter=lambda path, answer: b" " * (2 << 20) if path == "/oauth2/token" else answer)
    browser = Browser(served)
    address = browser.begin()
    back = browser.consent(address, "", action="deny")
    # This provider leaves the state out, which RFC 6749, 4.1.2.1, requires: first as it is, then as it has to be.
    check("a no without the state is nobody's", refused(browser.back(back), "not-begun"), back)
    answer = browser.back(f"{back}&{urlencode({'state': params(address)['state']})}")
    check("somebody says no there", refused(answer, "denied"), answer.headers)
    for what in ("https://evil.example/", "//evil.example", "#/today\r\nx: y", "/api/people"):
        answer = Browser(served).api("POST", "sign-in", {"to": what})
        check(f"nobody is sent on to {what!r}", answer.status_code == 422, answer.text)
    answer = requests.post(f"{served.address}/api/sign-in", json={}, timeout=10)
    check("no other page begins it", answer.status_code == 403, answer.text)
    answer = requests.post(f"{served.address}/api/sign-in", json={}, timeout=10,
                           headers={"x-own-page": "1", "origin": "https://evil.example"})
    check("nor one that says so", answer.status_code == 403, answer.text)


def look_at_who_may(provider: Provider, served: Served, supervisor: Browser, students: dict) -> None:
    answer = Browser(served).sign_in("stranger")
    check("who is in no group with a role is told to ask for an invitation", refused(answer, "unknown"), answer.headers)
    provider.user("impostor", name="r. amsel", groups=[GOOD_GROUP])
    answer = Browser(served).sign_in("impostor")
    check("whose name is somebody's in the book is not taken for them", refused(answer, "name-taken"), answer.headers)
    provider.user("mail", name="E. Star", email="amsel@example.edu", email_verified=True, groups=[])
    answer = Browser(served).sign_in("mail")
    check("an e-mail address opens nothing", refused(answer, "unknown"), answer.headers)
    provider.user("nameless", groups=[GOOD_GROUP])
    answer = Browser(served).sign_in("nameless")
    check("without a name nobody is added", refused(answer, "name-unfit"), answer.headers)

    code = supervisor.api("POST", f"people/{students['S. Drossel']}/invitation").json()["code"]
    drossel = Browser(served)
    answer = drossel.sign_in("drossel-7", invitation=code)
    check("an invitation is accepted with an account elsewhere", goes_to(answer, "/#/today")
          and drossel.who() == "S. Drossel", answer.headers)
    check("and is good once", Browser(served).api("POST", "sign-in", {"invitation": code}).status_code == 403)
    code = supervisor.api("POST", f"people/{students['G. Meise']}/invitation").json()["code"]
    answer = Browser(served).sign_in("drossel-7", invitation=code)
    check("not with an account that lets somebody else in", refused(answer, "another-person"), answer.headers)
    other = Browser(served)
    check("which leaves the invitation as it is", goes_to(other.sign_in("meise-2", invitation=code), "/#/today")
          and other.who() == "G. Meise", other.who())
    provider.user("drossel-7", name="Somebody Else", groups=["chem-staff"])
    drossel = Browser(served)
    drossel.sign_in("drossel-7")
    me = drossel.api("GET", "me").json()["person"]
    check("name and role stay the book's, whatever is said elsewhere",
          (me["name"], me["role"]) == ("S. Drossel", "student"), me)

    supervisor.api("POST", f"people/{students['S. Drossel']}/lock")
    check("locking ends the session", drossel.who() is None)
    answer = Browser(served).sign_in("drossel-7")
    check("a locked account stays out", refused(answer, "locked"), answer.headers)
    supervisor.api("POST", f"people/{students['S. Drossel']}/unlock")
    check("until it is unlocked", goes_to(Browser(served).sign_in("drossel-7"), "/#/today"))

    before = Browser(served)
    before.sign_in("drossel-7")
    kept = dict(before.session.cookies)
    before.sign_in("fink-1")
    check("who signs in as another ends the session that was there", before.who() == "B. Fink", before.who())
    old = Browser(served)
    old.session.cookies.update(kept)
    check("also for who kept its cookie", old.who() is None, old.who())

    log = [(entry["what"], entry["who"], entry["about"], entry["detail"])
           for entry in supervisor.api("GET", "access-log?limit=500").json()["entries"]]
    for what, found in {
        "coming in": any(e[0] == "signed_in" and e[1] == "B. Fink" for e in log),
        "being added by a group": any(e[0] == "joined" and e[1] == "B. Fink" and e[3] == "lab-people" for e in log),
        "being bound": any(e[0] == "bound" and e[1] == "S. Drossel" for e in log),
        "locked out, with whose account": any(e[0] == "sign_in_refused" and e[2] == "S. Drossel"
                                              and e[3].startswith("locked") for e in log),
        "a name that is taken": any(e[3].startswith("name-taken") for e in log),
        "a return nobody began": any(e[3] == "not-begun" for e in log),
        "a token that is not good": any(e[3].startswith("not-good") for e in log),
        "saying no": any(e[3].startswith("denied") for e in log),
    }.items():
        check(f"in the access log: {what}", found, [e for e in log if e[0] == "sign_in_refused"][:3])


def look_at_away(provider: Provider, served: Served, book: Path, sign_in: Path) -> None:
    browser = Browser(served)
    back = browser.consent(browser.begin(), "fink-1")
    provider.stop()
    answer = browser.back(back)
    check("a provider that goes meanwhile is said to be away", refused(answer, "away"), answer.headers)
    served.stop()
    served = Served(book, sign_in)
    try:
        browser = Browser(served)
        answer = browser.api("POST", "sign-in", {})
        check("so is one that was never there", answer.status_code == 503
              and answer.json()["type"] == "/problems/sign-in-away" and "Example College" in answer.json()["detail"],
              answer.text)
        answer = browser.api("POST", "login", {"name": "R. Amsel", "passphrase": PASSPHRASE})
        check("and passphrases still let in", answer.status_code == 200, answer.text)
        provider.start()
        time.sleep(11)
        check("it is asked again when it is back", goes_to(Browser(served).sign_in("fink-1"), "/#/today"))
        # New keys, as providers change them: a new provider at the same address has others.
        provider.stop()
        provider.app = provider_app(access_token_max_age=timedelta(minutes=5))
        provider.start()
        provider.user("fink-1", name="B. Fink", groups=["lab-people"])
        time.sleep(11)
        answer = Browser(served).sign_in("fink-1")
        check("a key that is not known is fetched", goes_to(answer, "/#/today"), answer.headers)
        provider.stop()
        provider.app = provider_app(access_token_max_age=timedelta(seconds=-60))
        provider.start()
        provider.user("fink-1", name="B. Fink", groups=["lab-people"])
        # It would say less than no seconds of the access token, too, which is no number that there can be.
        provider.alter = lambda path, answer: (
            json.dumps({**json.loads(answer), "expires_in": 60}).encode() if path == "/oauth2/token" else answer)
        time.sleep(11)
        answer = Browser(served).sign_in("fink-1")
        check("a token that is over is refused", refused(answer, "not-good"), answer.headers)
    finally:
        said = served.stop()
    check("the program's log holds no secret", SECRET not in said and "code=" not in said, said[-400:])


def main() -> None:
    os.environ["AUTHLIB_INSECURE_TRANSPORT"] = "1"
    os.environ["NO_PROXY"] = "*"
    for noisy in ("werkzeug", "oidc_provider_mock", "oidc-provider-mock"):
        logging.getLogger(noisy).setLevel(logging.CRITICAL)
    print(f"oidc-provider-mock at {Path(oidc_provider_mock.__file__).parent.name}")
    provider = Provider()
    provider.start()
    with tempfile.TemporaryDirectory() as room:
        room = Path(room)
        book, sign_in = room / "book", room / "sign-in.toml"
        sign_in.write_text(
            f'issuer = "{provider.issuer}"\nclient_id = "bench"\nshown_name = "Example College"\n'
            f'[roles]\n"{GOOD_GROUP}" = "supervisor"\n"lab-people" = "analyst"\n"{STUDENT_GROUP}" = "student"\n'
        )
        meltrange("book", "new", book, "--by", "R. Amsel")
        for name in ("S. Drossel", "G. Meise"):
            meltrange("book", "person", book, name, "--role", "student", "--by", "R. Amsel")
        code = meltrange("person", "invite", book, "R. Amsel")["code"]
        provider.user("fink-1", name="B. Fink", groups=["choir", STUDENT_GROUP, "lab-people"])
        served = Served(book, sign_in)
        supervisor = Browser(served)
        answer = supervisor.api("POST", "invitations/accept", {"code": code, "passphrase": PASSPHRASE})
        answer.raise_for_status()
        people = supervisor.api("GET", "people").json()["people"]
        students = {person["name"]: person["id"] for person in people}
        try:
            look_at_happy_path(provider, served, supervisor)
            look_at_attacks(provider, served)
            look_at_who_may(provider, served, supervisor, students)
            look_at_away(provider, served, book, sign_in)
        finally:
            served.process.terminate()
    sys.exit(1 if failures else 0)


if __name__ == "__main__":
    main()
