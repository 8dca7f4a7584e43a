"""The renderer's compiler, found and set up once a process, and how its results are waited for.

drjit compiles kernels through an LLVM library that it would search for by itself; versions before 17 end the
process inside code generation, so it is always pointed at one that is known to be new enough. Only modules of this
package that call `load` at their top touch mitsuba and drjit.
"""

from __future__ import annotations

import ctypes
import os
import re
import signal
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sidelong.errors import Missing

OLDEST_LLVM = 17
WHEEL = "karellen-llvm-core"

_lock = threading.Lock()
_loaded: tuple[Any, Any] | None = None
_gpu_wanted: bool | None = None

# what the wheel's libLLVM needs, by their real file names, in the order they depend on one another
_RUNTIME = ("libunwind.so.1.0", "libc++abi.so.1.0", "libc++.so.1.0")
_PLACES = (
    ("/usr/lib/llvm-*", "lib/libLLVM.so*"), ("/usr/lib/llvm-*", "lib/libLLVM-*.so*"),
    ("/usr/lib/x86_64-linux-gnu", "libLLVM*.so*"), ("/usr/lib/aarch64-linux-gnu", "libLLVM*.so*"),
    ("/usr/lib64", "libLLVM*.so*"), ("/usr/lib", "libLLVM*.so*"),
    ("/opt/homebrew/opt/llvm*", "lib/libLLVM.dylib"), ("/usr/local/opt/llvm*", "lib/libLLVM.dylib"),
    ("C:/Program Files/LLVM", "bin/LLVM-C.dll"),
)  # fmt: skip


def load(gpu: bool | None = None) -> tuple[Any, Any]:
    """The modules (mitsuba, drjit) with the spectral variant set; the first call decides for the whole process.

    `gpu` asks for the graphics card; left out, SIDELONG_GPU=1 in the environment does.

    Raises
    ------
    Missing
        No LLVM library of version 17 or newer was found, or no graphics card when one was asked for.
    """
    global _loaded, _gpu_wanted
    with _lock:
        if _loaded is None:
            _gpu_wanted = os.environ.get("SIDELONG_GPU") == "1" if gpu is None else gpu
            with _interrupts_held_back():
                _loaded = _load_gpu() if _gpu_wanted else _load_cpu()
        return _loaded


@contextmanager
def _interrupts_held_back() -> Iterator[None]:
    """A Ctrl-C while native modules load would leave them half made, and the process would abort: it waits."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    came: list[int] = []
    before = signal.signal(signal.SIGINT, lambda number, _: came.append(number))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
    if came:
        raise KeyboardInterrupt


def on_gpu() -> bool:
    """Whether `load` has set up the graphics card."""
    return bool(_loaded and _gpu_wanted)


def computed(*values: Any) -> None:
    """Compute what kernels shall give, and wait for it so that an interruption is heard at once.

    What has been begun still ends by itself; callers keep their kernels to a second or so.
    """
    _, dr = load()
    dr.eval(*values)
    end = (dr.cuda if on_gpu() else dr.llvm).Event(enable_timing=False)
    end.record()
    while not end.query():
        time.sleep(0.002)


def column(values: NDArray[Any]) -> NDArray[Any]:
    """The values (N, ...) for kernels to look up, at least two of them: about one alone the compiler knows too much,
    and compiles every kernel that looks it up anew."""
    return np.concatenate([values, values]) if len(values) == 1 else values


def available() -> str:
    """Empty when pictures and meters can be traced here; else what is missing, what still works, what to do."""
    try:
        load()
    except Missing as missing:
        return str(missing)
    return ""


def find_llvm() -> Path | None:
    """The first usable LLVM library: the environment's DRJIT_LIBLLVM_PATH, the wheel's, then the system's."""
    for library, needs in _candidates():
        if _loads(needs) and _version(library) >= OLDEST_LLVM:
            return library
    return None


def _load_cpu() -> tuple[Any, Any]:
    library = find_llvm()
    if library is None:
        raise Missing(_no_llvm())
    os.environ["DRJIT_LIBLLVM_PATH"] = str(library)
    import drjit  # late: slow import
    import mitsuba  # late: slow import

    mitsuba.set_variant("llvm_ad_spectral")
    return mitsuba, drjit


def _load_gpu() -> tuple[Any, Any]:
    library = find_llvm()
    if library is not None:
        os.environ.setdefault("DRJIT_LIBLLVM_PATH", str(library))
    import drjit  # late: slow import
    import mitsuba  # late: slow import

    if not drjit.has_backend(drjit.JitBackend.CUDA):
        raise Missing(
            "SIDELONG_GPU=1 asks for the graphics card, but no CUDA driver was found on this machine; unset it and"
            " everything is computed on the processor"
        )
    mitsuba.set_variant("cuda_ad_spectral")
    return mitsuba, drjit


def _no_llvm() -> str:
    return (
        f"pictures and light readings need an LLVM library of version {OLDEST_LLVM} or newer, and none was found;"
        " focus, sun, checks and drawings still work. On Linux x86-64 `pip install karellen-llvm-core` brings one"
        " (with the system package libatomic1 if that is missing), on Debian or Ubuntu the package libllvm19, on"
        " macOS `brew install llvm`, on Windows the LLVM installer; a library elsewhere can be named in the"
        " environment variable DRJIT_LIBLLVM_PATH"
    )


def _candidates() -> Iterator[tuple[Path, tuple[Path, ...]]]:
    """Libraries to try with the libraries each needs loaded first; too old by name are left out."""
    named = os.environ.get("DRJIT_LIBLLVM_PATH")
    if named:
        yield Path(named), _beside(Path(named))
    for library in _in_wheel():
        yield library, _beside(library)
    for root, pattern in _PLACES:
        anchor = Path(Path(root).anchor)
        for folder in sorted(anchor.glob(str(Path(root).relative_to(anchor))), reverse=True):
            for library in sorted(folder.glob(pattern), reverse=True):
                number = re.search(r"libLLVM(?:-|\.so\.)(\d+)", library.name)
                if number is None or int(number.group(1)) >= OLDEST_LLVM:
                    yield library, ()


def _in_wheel() -> list[Path]:
    roots = {Path(sys.prefix), Path(sys.base_prefix)}
    try:
        wheel = distribution(WHEEL)
    except PackageNotFoundError:
        return []
    for file in wheel.files or []:
        if re.match(r"libLLVM\.so\.\d", file.name):
            roots.add(Path(os.path.realpath(str(wheel.locate_file(file)))).parent.parent)
    return [lib for root in sorted(roots) for lib in sorted((root / "lib").glob("libLLVM.so.[0-9]*"), reverse=True)]


def _beside(library: Path) -> tuple[Path, ...]:
    folder = library.parent / "x86_64-unknown-linux-gnu"
    return tuple(folder / name for name in _RUNTIME if (folder / name).exists())


def _loads(libraries: tuple[Path, ...]) -> bool:
    """Load libraries privately: made global, libc++abi's symbols would shadow libstdc++'s at the first exception."""
    try:
        for library in libraries:
            ctypes.CDLL(str(library), mode=getattr(ctypes, "RTLD_LOCAL", 0))
    except OSError:
        return False
    return True


def _version(library: Path) -> int:
    """Major version that the library itself tells (since LLVM 16); 0 if it cannot be loaded or does not."""
    try:
        llvm = ctypes.CDLL(str(library), mode=getattr(ctypes, "RTLD_LOCAL", 0))
        numbers = (ctypes.c_uint(), ctypes.c_uint(), ctypes.c_uint())
        llvm.LLVMGetVersion(*(ctypes.byref(n) for n in numbers))
    except (OSError, AttributeError):
        return 0
    return numbers[0].value
