"""A person signs in by a passkey that a virtual authenticator keeps (WebAuthn level 3 §11)."""

from typing import Any

from playwright.sync_api import Browser, Page

PASSKEYS = "/_allauth/browser/v1/account/authenticators/webauthn"
LOGIN = "/_allauth/browser/v1/auth/webauthn/login"
# What the screens do, in short: ask for options, let the authenticator answer, send the answer.
SEND = """
const send = async (method, path, body) => {
  const token = document.cookie.match(/csrftoken=([^;]+)/)[1]
  const headers = { 'Content-Type': 'application/json', 'X-CSRFToken': token }
  const answer = await fetch(path, { method, headers, body: body && JSON.stringify(body) })
  return { status: answer.status, ...(await answer.json().catch(() => ({}))) }
}
"""
ADD = (
    SEND
    + """
const { data } = await send('GET', path + '?passwordless')
const made = PublicKeyCredential.parseCreationOptionsFromJSON(data.creation_options.publicKey)
const credential = await navigator.credentials.create({ publicKey: made })
return await send('POST', path, { name: 'Phone', credential: credential.toJSON() })
"""
)
SIGN_IN = (
    SEND
    + """
await fetch('/api/v1/session/')
const { data } = await send('GET', path)
const asked = PublicKeyCredential.parseRequestOptionsFromJSON(data.request_options.publicKey)
const credential = await navigator.credentials.get({ publicKey: asked })
return await send('POST', path, { credential: credential.toJSON() })
"""
)


def run(page: Page, script: str, path: str) -> Any:
    return page.evaluate(f"async (path) => {{ {script} }}", path)


def who_is_signed_in(page: Page) -> Any:
    return page.evaluate("async () => (await (await fetch('/api/v1/session/')).json()).user")


def add_authenticator(page: Page) -> None:
    devtools = page.context.new_cdp_session(page)
    devtools.send("WebAuthn.enable")
    keeps_passkeys = {
        "protocol": "ctap2",
        "transport": "internal",
        "hasResidentKey": True,
        "hasUserVerification": True,
        "isUserVerified": True,
    }
    devtools.send("WebAuthn.addVirtualAuthenticator", {"options": keeps_passkeys})


def test_a_person_adds_a_passkey_signs_out_and_comes_in_by_it(
    browser: Browser, server: str, links: dict[str, str]
) -> None:
    # A passkey is of a name: a number such as 127.0.0.1 has none.
    page = browser.new_page(base_url=server.replace("127.0.0.1", "localhost"))
    page.goto(links["maker"])
    page.wait_for_url(lambda url: "sign-in" not in url)
    person = who_is_signed_in(page)
    add_authenticator(page)
    assert run(page, ADD, PASSKEYS)["status"] == 200
    page.evaluate(
        f"async () => {{ {SEND} return await send('DELETE', '/api/v1/session/') }}",
    )
    assert who_is_signed_in(page) is None
    assert run(page, SIGN_IN, LOGIN)["status"] == 200
    assert who_is_signed_in(page) == person
    page.context.close()
