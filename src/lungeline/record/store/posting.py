"""Posting to the server that holds the lock, over loopback. What is posted twice is entered once."""

import http.client
import json
from collections.abc import Mapping
from typing import Any
from urllib.parse import urlsplit

from lungeline.record.store.held import Holder
from lungeline.record.store.wire import Posting, error_of

_LEAST_WAIT_S = 1.0
_OK, _WRONG_TOKEN, _FAILED = 200, 401, 500


class ServerGone(Exception):  # noqa: N818  no error yet: whoever posts tries another way
    """The server did not answer, or no longer is the one that wrote its note: it may have written or not."""


def post(holder: Holder, posting: Posting, wait_s: float) -> Mapping[str, Any]:
    """Post and return the reply. Raises ServerGone, or the error that the server's store raised.

    wait_s: how long an answer may take [s].
    """
    text = posting.text()
    address = urlsplit(holder.address)
    connection = http.client.HTTPConnection(
        address.hostname or "", address.port, timeout=max(wait_s, _LEAST_WAIT_S)
    )
    headers = {"Authorization": f"Bearer {holder.token}", "Content-Type": "application/json"}
    try:
        connection.request("POST", address.path or "/", text, headers)
        answered = connection.getresponse()
        reply = json.loads(answered.read())
    except (OSError, http.client.HTTPException, ValueError) as error:
        raise ServerGone(str(error) or type(error).__name__) from None
    finally:
        connection.close()
    if answered.status == _WRONG_TOKEN or answered.status >= _FAILED or not isinstance(reply, dict):
        given = f"status {answered.status}"
        raise ServerGone(given)
    if answered.status != _OK:
        raise error_of(reply)
    return reply
