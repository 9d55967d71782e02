"""Whether a JSON value is exactly what a type of the protocol allows.

The types are those of lsprotocol, which are made from the protocol's own description. Reading a message with them is
lenient: properties that are not known are passed over. Here they are a fault.
"""

import collections.abc
import enum
import typing

import attrs
from lsprotocol import _hooks
from lsprotocol import types as lsp

# The types name one another in quotation marks until they are first used.
_hooks._resolve_forward_references()

SCALARS = {bool: (bool,), str: (str,), int: (int,), float: (int, float)}


def faults(value, kind, at="") -> list[str]:
    """Every place in `value` that does not fit the type, with what is wrong there."""
    if isinstance(kind, typing.ForwardRef):
        kind = kind.__forward_arg__
    if isinstance(kind, str):
        kind = lsp.ALL_TYPES_MAP[kind]
    if kind in (typing.Any, object, lsp.LSPAny, lsp.LSPObject):
        return []
    if kind is type(None):
        return [] if value is None else [f"{at}: must be null"]
    origin, inner = typing.get_origin(kind), typing.get_args(kind)
    if origin is typing.Union:
        # What is wrong is told of the alternative that comes nearest.
        return min((faults(value, each, at) for each in inner), key=lambda found: (len(found), depth(found)))
    if origin is typing.Literal:
        return [] if value in inner else [f"{at}: {value!r} is none of {inner}"]
    if origin is tuple:
        if not isinstance(value, list) or len(value) != len(inner):
            return [f"{at}: must be {len(inner)} values"]
        return [fault for nth, each in enumerate(inner) for fault in faults(value[nth], each, f"{at}/{nth}")]
    if origin is collections.abc.Mapping:
        if not isinstance(value, dict):
            return [f"{at}: must be an object"]
        return [fault for key, each in value.items() for fault in faults(each, inner[1], f"{at}/{key}")]
    if origin is collections.abc.Sequence:
        if not isinstance(value, list):
            return [f"{at}: must be an array"]
        return [fault for nth, each in enumerate(value) for fault in faults(each, inner[0], f"{at}/{nth}")]
    if issubclass(kind, enum.Enum):
        known = any(type(one.value) is type(value) and one.value == value for one in kind)
        return [] if known else [f"{at}: {value!r} is no {kind.__name__}"]
    if attrs.has(kind):
        return faults_of_object(value, kind, at)
    fits = isinstance(value, SCALARS[kind]) and (kind is bool or not isinstance(value, bool))
    return [] if fits else [f"{at}: must be a {kind.__name__}, is {value!r}"]


def faults_of_object(value, kind, at) -> list[str]:
    if not isinstance(value, dict):
        return [f"{at}: must be a {kind.__name__}"]
    found, known = [], set()
    for field in attrs.fields(kind):
        name = in_json(field.name)
        known.add(name)
        needed = field.default is attrs.NOTHING
        if name not in value:
            found += [f"{at}: {kind.__name__} lacks {name}"] if needed else []
        elif value[name] is None and not needed and not lsp.is_special_property(kind, field.name):
            found.append(f"{at}/{name}: null where it must be left out")
        else:
            here = faults(value[name], field.type, f"{at}/{name}")
            if field.validator and value[name] is not None and not here:
                try:
                    field.validator(None, field, value[name])
                except (TypeError, ValueError) as why:
                    here = [f"{at}/{name}: {why}"]
            found += here
    return found + [f"{at}/{name}: {kind.__name__} has no such property" for name in value.keys() - known]


def in_json(name: str) -> str:
    """`text_document` is `textDocument`; `from_` is `from`."""
    first, *rest = name.rstrip("_").split("_")
    return first + "".join(word.capitalize() for word in rest)


def depth(found: list[str]) -> int:
    """The deeper the first fault lies, the more of the value fits."""
    return -found[0].count("/") if found else 0
