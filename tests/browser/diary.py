"""What a page did before a test on it failed: for a fault that comes once in many runs."""

import contextlib
import re
import time

_KIND = re.compile(r'"(?:msg_type|execution_state)": ?"(\w+)"')
_LATEST = 150  # lines
_ASKED = """async () => {
  const left = new AbortController();
  setTimeout(() => left.abort(), 3000);
  const answer = await fetch('/api/sessions', { signal: left.signal });
  return `${answer.status} ${await answer.text()}`;
}"""


KEPT = []  # of the browser profiles that the running test uses


class Diary:
    """Keeps what the pages of a browser's profile say and what they and their kernels exchange."""

    def __init__(self, context):
        self._began = time.monotonic()
        self._lines = []
        self._context = context
        context.on("console", lambda message: self._note(message.type, message.text))
        context.on("weberror", lambda error: self._note("raised", error.error))
        context.on("requestfailed", lambda asked: self._note("failed", asked.url, asked.failure))
        context.on("response", self._answered)
        context.on("page", lambda page: page.on("websocket", self._connected))

    def told(self):
        """Return it all as text, with what the pages show and which kernels there are."""
        with contextlib.suppress(Exception):
            for page in self._context.pages:
                self._note("shows", page.url, page.inner_text("body", timeout=3000)[:1500])
                self._note("sessions", page.evaluate(_ASKED))
        return "\n".join([*self._lines[:_LATEST], "...", *self._lines[-_LATEST:]])

    def _note(self, *words):
        passed = time.monotonic() - self._began
        self._lines.append(f"{passed:7.2f} " + " ".join(str(word) for word in words))

    def _answered(self, response):
        if "/api/" in response.url:
            asked = response.request
            self._note(asked.method, response.url.partition("?")[0], response.status)

    def _connected(self, socket):
        self._note("socket", socket.url.partition("?")[0])
        socket.on("close", lambda _: self._note("socket closed"))
        socket.on("socketerror", lambda error: self._note("socket error", error))
        socket.on("framesent", lambda sent: self._note(">", *_kinds(sent)))
        socket.on("framereceived", lambda received: self._note("<", *_kinds(received)))


def _kinds(payload):
    """Return the kind of a message between page and kernel, the state and the fault that it tells."""
    text = payload if isinstance(payload, str) else payload[:4000].decode("latin1")
    fault = [text[-1500:]] if '"error"' in text or '"stderr"' in text else []
    return _KIND.findall(text)[:3] + fault
