"""Values as TOML writes them."""

from __future__ import annotations

import json
from collections.abc import Mapping


def toml_value(value: object) -> str:
    """A value on one line of TOML; numbers without needless digits."""
    match value:
        case bool():
            return "true" if value else "false"
        case float():
            # TOML tells 10 from 10.0; for us both are the same length.
            return f"{value:.0f}" if value.is_integer() and abs(value) < 1e15 else repr(value)
        case str():
            # JSON escapes what TOML wants escaped, but for this one control character. Half a
            # letter is in no TOML, but may have to be shown in a message.
            text = json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
            return text.encode(errors="backslashreplace").decode()
        case Mapping():
            pairs = ", ".join(f"{key} = {toml_value(item)}" for key, item in value.items())
            return f"{{ {pairs} }}" if pairs else "{}"
        case list() | tuple():
            return f"[{', '.join(toml_value(item) for item in value)}]"
    return str(value)
