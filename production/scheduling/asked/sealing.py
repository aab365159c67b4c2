"""Frozen dataclasses sealed into bytes and opened again: what the scheduler was asked, kept word for word.

A field that still holds its default is left out, and one that was not there when something was sealed gets its
default when it is opened; so a new field with a default needs no change of what is kept.
"""

from __future__ import annotations

import dataclasses
import json
import types
import zlib
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from typing import Any, TypeVar, Union, cast, get_args, get_origin, get_type_hints

T = TypeVar("T")
_NEVER = object()


def seal(value: Any) -> bytes:
    """The value as compressed text. Dataclasses, named tuples, tuples, mappings and plain values."""
    return zlib.compress(json.dumps(_plain(value), separators=(",", ":")).encode(), 6)


def unseal(kind: type[T], sealed: bytes) -> T:
    """What `seal` was given, by its type.

    Raises:
        ValueError: the bytes are no sealed value, or one of another type.
    """
    try:
        return cast(T, _opener(cast(Any, kind))(json.loads(zlib.decompress(sealed))))
    except (zlib.error, TypeError, KeyError, IndexError) as error:
        raise ValueError(f"These bytes are no sealed {kind.__name__}: {error}") from error


def _plain(value: Any) -> Any:
    if dataclasses.is_dataclass(value):
        return {
            field.name: _plain(held)
            for field in dataclasses.fields(value)
            if (held := getattr(value, field.name)) != _default(field)
        }
    if isinstance(value, Mapping):
        return [[_plain(key), _plain(held)] for key, held in value.items()]
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [_plain(held) for held in value]
    return value


def _default(field: dataclasses.Field[Any]) -> Any:
    if field.default_factory is not dataclasses.MISSING:
        return field.default_factory()
    return _NEVER if field.default is dataclasses.MISSING else field.default


@cache
def _opener(kind: Any) -> Callable[[Any], Any]:
    """How to open one type. Worked out once for each type, because plans hold thousands of rows."""
    origin, arguments = get_origin(kind), get_args(kind)
    if dataclasses.is_dataclass(kind):
        return _record(kind)
    if isinstance(kind, type) and issubclass(kind, tuple) and hasattr(kind, "_fields"):
        return lambda held: kind(*held)
    if origin in (Union, types.UnionType):
        inner = _opener(next(one for one in arguments if one is not type(None)))
        return lambda held: None if held is None else inner(held)
    if origin is tuple:
        return _row(arguments)
    if isinstance(origin, type) and issubclass(origin, Mapping):
        key, value = map(_opener, arguments)
        return lambda held: {key(one): value(other) for one, other in held}
    return lambda held: held


def _record(kind: Any) -> Callable[[Any], Any]:
    openers = {name: _opener(hint) for name, hint in get_type_hints(kind).items()}
    return lambda held: kind(
        **{name: openers[name](value) for name, value in held.items() if name in openers}
    )


def _row(arguments: tuple[Any, ...]) -> Callable[[Any], Any]:
    if len(arguments) == 2 and arguments[1] is ...:
        inner = _opener(arguments[0])
        return lambda held: tuple(map(inner, held))
    openers = tuple(map(_opener, arguments))
    return lambda held: tuple(opener(one) for opener, one in zip(openers, held, strict=True))
