"""One decorator for all compiled functions, with a cache that can't go stale.

Room: ground floor; imports nothing of the package. numba keys its cache by the source of one file
only, so that a changed callee in another file would leave an old result behind; therefore the
cache's folder carries a hash of every source that compiled code is made from.
"""

from __future__ import annotations

import functools
import hashlib
import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar, cast

import numba
import numpy as np
from numba import config, types
from numba.core import cgutils
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import CompilerBase, DefaultPassBuilder
from numba.core.compiler_machinery import register_pass
from numba.core.imputils import impl_ret_borrowed
from numba.core.typed_passes import NativeLowering
from numba.core.typing.templates import AbstractTemplate, AttributeTemplate, infer_global, signature
from numba.extending import infer_getattr, lower_builtin, lower_getattr_generic, models, register_model

if TYPE_CHECKING:
    from collections.abc import Callable

# Every file with a compiled function, and every file of the package that those files import.
KERNEL_SOURCES = (
    "compiled.py",
    "corridor/compound_kernel.py",
    "corridor/near_kernel.py",
    "drives/arc.py",
    "drives/drilled.py",
    "drives/profile.py",
    "engineering/grout_limit.py",
    "engineering/pull_in.py",
    "engineering/string_layout.py",
    "engineering/thrust.py",
    "search/arrays.py",
    "search/drilled_kernel.py",
    "search/crown_kernel.py",
    "search/drive_kernel.py",
    "search/drive_price_kernel.py",
    "search/force_kernel.py",
    "search/grout_kernel.py",
    "search/label_kernel.py",
    "search/layout_kernel.py",
    "search/line_kernel.py",
    "search/arrival_kernel.py",
    "search/depth_kernel.py",
    "search/ahead_kernel.py",
    "search/join_kernel.py",
    "search/leg_kernel.py",
    "search/pass_kernel.py",
    "search/reach_kernel.py",
    "search/shaft_kernel.py",
    "search/through_kernel.py",
    "search/touched_kernel.py",
    "search/under_kernel.py",
    "search/wedge_bound.py",
    "search/wedge_fan.py",
    "search/wedge_judge.py",
    "search/wedge_kernel.py",
    "search/wedge_ways.py",
)

Function = TypeVar("Function", bound="Callable[..., Any]")


def _source_hash() -> str:
    digest = hashlib.sha256(numba.__version__.encode())
    root = Path(__file__).parent
    for name in KERNEL_SOURCES:
        digest.update((root / name).read_bytes())
    return digest.hexdigest()[:16]


def _cache_folder() -> str:
    """Return a writable folder for compiled code: the user's cache, else a temporary one."""
    base = os.environ.get("NUMBA_CACHE_DIR") or os.environ.get("XDG_CACHE_HOME")
    try:
        roots = [Path(base) if base else Path.home() / ".cache"]
    except RuntimeError:  # a user without a home
        roots = []
    for root in roots:
        folder = root / "routescreen" / _source_hash()
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError:
            continue
        if os.access(folder, os.W_OK):
            return str(folder)
    return tempfile.mkdtemp(prefix="routescreen-")


setattr(config, "CACHE_DIR", _cache_folder())  # noqa: B010 - numba declares its settings at run time


# numba ships no types for these
_Library: Any = JITCodeLibrary
_Lowering: Any = NativeLowering
_Compiler: Any = CompilerBase
_passes: Any = DefaultPassBuilder
_registered: Any = register_pass


class _PartLibrary(_Library):  # type: ignore[misc]
    """Code of a function for those that call it: neither optimised nor made to machine code on its own."""

    def finalize(self) -> None:
        """Close the library as it stands: ``_PartLowering`` hands it on with all that it calls."""
        self._finalized = True


@_registered(mutates_CFG=True, analysis_only=False)
class _PartLowering(_Lowering):  # type: ignore[misc]
    """Lowers a function that compiled code calls."""

    _name = "part_lowering"

    def run_pass(self, state: Any) -> bool:
        """Lower without wrappers and without machine code."""
        state.flags.no_compile = state.flags.no_cpython_wrapper = state.flags.no_cfunc_wrapper = True
        library = state.library = _PartLibrary(state.targetctx.codegen(), state.func_id.func_qualname)
        super().run_pass(state)
        lowered = state["cr"]
        unused: list[None] = []
        key = unused.append  # numba asks for a builtin function, knows this one by it, and never calls it
        brought = dict.fromkeys([library, *library._linking_libraries])
        state.targetctx.insert_user_function(key, lowered.fndesc, list(brought))
        state["cr"] = lowered._replace(cfunc=key)
        return True


class _PartCompiler(_Compiler):  # type: ignore[misc]
    """numba's own passes with another lowering."""

    def define_pipelines(self) -> list[Any]:
        """Return the passes."""
        manager = _passes.define_nopython_pipeline(self.state)
        manager.passes = [
            (_PartLowering if kind is NativeLowering else kind, why) for kind, why in manager.passes
        ]
        manager._finalized = False
        manager.finalize()
        return [manager]


class _Compiled:
    """A compiled function: whole as Python calls it, a part as compiled code does.

    numba optimises a function with all that it calls, and again at each level of calls, and makes machine
    code at each. A part is left as it is; it is optimised once, with the whole function that Python calls.
    """

    def __init__(self, function: Any) -> None:
        functools.update_wrapper(self, function)
        self.py_func = function
        self._whole = numba.njit(nogil=True, cache=True)(function)
        self._part = numba.njit(nogil=True, pipeline_class=_PartCompiler)(function)

    def __call__(self, *arguments: Any, **named: Any) -> Any:
        """Call the function's machine code, made at the first call with arguments of such types."""
        return self._whole(*arguments, **named)

    @property
    def _numba_type_(self) -> Any:
        return types.Dispatcher(self._part)


def compiled(function: Function) -> Function:
    """Compile a function to machine code, cached on disk; it releases the interpreter lock."""
    return cast("Function", _Compiled(function))


def compiled_within(function: Function) -> Function:
    """Compile a function by writing its lines into each that calls it, before types are known.

    Spares the handing on of what is called from one place.
    """
    return cast("Function", numba.njit(nogil=True, cache=True, inline="always")(function))


@compiled
def no_literal(number: int) -> int:
    """Return a number as any other: functions are compiled once more for each literal they are given."""
    return int(np.int64(number))


Value = TypeVar("Value")
# numba ships no types for these
_cgutils: Any = cgutils
_borrowed: Any = impl_ret_borrowed
_signature: Any = signature
_types_calls: Any = infer_global
_lowers: Any = lower_builtin
_lowers_members: Any = lower_getattr_generic


def by_reference(value: Value) -> Value:
    """Hand a named tuple on by its address instead of by its many members.

    Compiled code passes a tuple by value, every array of it as some ten numbers, into each function
    called; of a tuple of seventy arrays that makes most of the work of compiling. The reference reads
    like the tuple, but its arrays count no references, since counting costs more than most of what is
    read: neither the reference nor an array read from it may be returned or outlive the tuple. Whoever makes
    it holds the tuple for as long: of a tuple that is used again later.
    """
    return value


class ByReference(types.Type):
    """The type of a reference to a named tuple."""

    def __init__(self, target: Any) -> None:
        self.target = target
        super().__init__(name=f"ByReference({target})")

    @property
    def mangling_args(self) -> tuple[str, tuple[()]]:
        """Return a short name for the symbols: that of all members has thousands of letters."""
        digest = hashlib.sha256(self.name.encode()).hexdigest()[:16]
        return f"ByReference_{self.target.instance_class.__name__}_{digest}", ()

    def member(self, name: str) -> tuple[int, Any]:
        """Return place and type of a member."""
        at = self.target.fields.index(name)
        return at, self.target.types[at]


_references: dict[int, ByReference] = {}


def reference_to(target: Any) -> ByReference:
    """Return the type of a reference to a type of named tuple, each made once."""
    if target._code not in _references:  # by its number: a hash of the type goes through all members
        _references[target._code] = ByReference(target)
    return _references[target._code]


@register_model(ByReference)
class _ByReferenceModel(models.PrimitiveModel):
    def __init__(self, manager: Any, kind: ByReference) -> None:
        address = manager.lookup(kind.target).get_value_type().as_pointer()
        super().__init__(manager, kind, address)  # type: ignore[no-untyped-call]


@infer_getattr
class _ByReferenceAttribute(AttributeTemplate):
    key = ByReference

    def generic_resolve(self, value: Any, attr: str) -> Any:  # type: ignore[override]
        if attr not in value.target.fields:
            return None
        member = value.member(attr)[1]
        return reference_to(member) if isinstance(member, types.BaseNamedTuple) else member


@_lowers_members(ByReference)  # type: ignore[untyped-decorator]
def _member(context: Any, builder: Any, kind: ByReference, value: Any, name: str) -> Any:
    at, member = kind.member(name)
    place = _cgutils.gep_inbounds(builder, value, 0, at)
    if isinstance(member, types.BaseNamedTuple):
        return place
    if isinstance(member, types.Array):
        return _without_owner(context, builder, member, builder.load(place))
    return _borrowed(context, builder, member, builder.load(place))


def _without_owner(context: Any, builder: Any, kind: Any, value: Any) -> Any:
    """Return an array that counts no references: counting costs more than most of what is read."""
    array = context.make_array(kind)(context, builder, value)
    array.meminfo = _cgutils.get_null_value(array.meminfo.type)
    return array._getvalue()


@_types_calls(by_reference)
class _ByReferenceCall(AbstractTemplate):
    def generic(self, args: Any, kws: Any) -> Any:
        (value,) = args
        is_tuple = isinstance(value, types.BaseNamedTuple) and not kws
        return _signature(reference_to(value), value) if is_tuple else None


@_lowers(by_reference, types.BaseNamedTuple)  # type: ignore[untyped-decorator]
def _store(_context: Any, builder: Any, _call: Any, arguments: Any) -> Any:
    """Store a tuple in the frame of the function that asks, and return where.

    Not an ``overload`` with ``inline="always"``: after such a call numba (0.68) drops what it takes for
    dead: every element assigned to an array that was read from a tuple other than the function's arguments.
    """
    return _cgutils.alloca_once_value(builder, arguments[0])
