"""The command line: reads arguments, calls the library, prints.  No engineering here.

Exit codes: 0 answered, 2 something in the input is wrong, 3 a computation did not settle.
"""

from __future__ import annotations

import argparse
import gc
import json
import math
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from . import __version__
from .errors import BlockwrightError, Fault, InputError

if TYPE_CHECKING:
    from .build.model import Build

#: The demo that `demo` judges; the others are copied beside it.
DEMO = "hillclimb_v8.toml"


def parser() -> argparse.ArgumentParser:
    """The arguments and their documentation."""
    main = argparse.ArgumentParser(
        prog="blockwright",
        description="Will this very block live at the power wanted of it, what breaks first, "
        "and which change makes it live?",
    )
    main.add_argument("--version", action="version", version=f"blockwright {__version__}")
    commands = main.add_subparsers(dest="command", required=True, metavar="COMMAND")

    judge = commands.add_parser("judge", help="judge a build: will it live, what goes first, its ceiling")
    judge.add_argument("build", metavar="BUILD.toml", help="the build file")
    judge.add_argument(
        "--json", action="store_true", help="print the verdict as JSON (docs/verdict.schema.json)"
    )
    judge.add_argument("--report", metavar="OUT.html", help="write an illustrated page that needs no network")
    judge.add_argument(
        "--samples", type=_samples, default=1000, metavar="N", help="draws of what is unknown (1000)"
    )
    judge.add_argument(
        "--seed", type=_seed, default=1, metavar="N", help="seed of the draws: same seed, same answer (1)"
    )
    judge.add_argument(
        "--preview",
        action="store_true",
        help="cut the pipes coarsely: quicker and a little off, for trying things out; judge in full "
        "before cutting metal",
    )

    explain = commands.add_parser("explain", help="show how one figure came about, down to every input")
    explain.add_argument("build", metavar="BUILD.toml", help="the build file")
    explain.add_argument(
        "limit", metavar="LIMIT", nargs="?", help="a limit's id; without it, the ids are listed"
    )

    curve = commands.add_parser("curve", help="run a build over its speeds: power, torque and what they cost")
    curve.add_argument("build", metavar="BUILD.toml", help="the build file")
    curve.add_argument("--json", action="store_true", help="print the curve as JSON (docs/curve.schema.json)")
    curve.add_argument(
        "--csv", metavar="FILE", help="write every figure as a table for a spreadsheet; - prints it instead"
    )
    curve.add_argument("--report", metavar="OUT.html", help="write an illustrated page that needs no network")
    curve.add_argument(
        "--target",
        metavar="POWER",
        help='what it takes to make this power: boost, nitrous or throttle ("650 hp")',
    )
    curve.add_argument(
        "--at",
        metavar="SPEED",
        help="speed of that power, or \"peak\" for the curve's own (the target's speed)",
    )
    curve.add_argument(
        "--standard",
        metavar="NAME",
        action="append",
        help="correct to this standard only: sae-j1349, sae-j607, iso-1585, din-70020; may be repeated (all)",
    )
    curve.add_argument(
        "--preview", action="store_true", help="cut the pipes coarsely: quicker and a little off"
    )
    curve.add_argument("--from", dest="first", metavar="SPEED", help="lowest speed (0.4 of the target's)")
    curve.add_argument("--to", dest="last", metavar="SPEED", help="highest speed (1.1 of the target's)")
    curve.add_argument("--step", metavar="SPEED", help="from one speed to the next (some fifteen points)")

    new = commands.add_parser("new", help="write a commented build file to start from")
    new.add_argument(
        "path", metavar="FILE", nargs="?", default="build.toml", help="where (default build.toml)"
    )

    demo = commands.add_parser("demo", help="copy the demo shop's builds and judge one, with its report")
    demo.add_argument(
        "folder", metavar="FOLDER", nargs="?", default="blockwright-demo", help="where to copy them"
    )

    schema = commands.add_parser("schema", help="print a JSON Schema: of the build file, verdict or curve")
    schema.add_argument("what", choices=["build", "verdict", "curve"], help="which of them")
    return main


def _samples(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 7) or not 100 <= int(text) <= 100_000:
        raise argparse.ArgumentTypeError(f"read {text!r}; give a whole number from 100 to 100000")
    return int(text)


def _seed(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise argparse.ArgumentTypeError(f"read {text!r}; give a whole number from 0 to 999999999")
    return int(text)


def _say(text: str) -> None:
    """Progress goes to standard error, so that standard output stays the answer alone."""
    print(text, file=sys.stderr, flush=True)


def _judge(args: argparse.Namespace) -> int:
    from .build.load import load

    build = load(args.build)
    if args.report is not None:
        _check_writable(Path(args.report), Path(args.build))
    _answer(build, args.samples, args.seed, as_json=args.json, report=args.report, preview=args.preview)
    return 0


def _answer(
    build: Build,
    samples: int = 1000,
    seed: int = 1,
    *,
    as_json: bool = False,
    report: str | None = None,
    preview: bool = False,
) -> None:
    from .life.judge import judge_aloud, judge_with_evidence
    from .report.contract import document
    from .report.text import judge_text

    # What the imports made stays to the end: let the collector pass over it from now on.
    gc.freeze()
    gc.enable()
    if report is None:
        verdict = judge_aloud(build, samples, seed, _say, preview)
    else:
        from .report.html import write
        from .report.page import render

        verdict, evidence = judge_with_evidence(build, samples, seed, _say, preview)
        write(Path(report), render(verdict, evidence))
        _say(f"Report written to {report}")
    if as_json:
        print(json.dumps(document(verdict), indent=1, ensure_ascii=_ascii_only(), allow_nan=False))
    else:
        print(judge_text(verdict, ascii_only=_ascii_only()))


def _ascii_only() -> bool:
    """Whether standard output cannot show more than ASCII."""
    return "utf" not in (sys.stdout.encoding or "").lower()


def _check_writable(path: Path, build: Path, option: str = "--report") -> None:
    """Refuse before computing what could not be written afterwards, or would replace the build."""
    if path.is_dir():
        right = "name a file, not a folder"
    elif not path.parent.is_dir():
        right = "make that folder first or name another"
    elif not os.access(path.parent, os.W_OK):
        right = "that folder cannot be written to; name another"
    elif path.exists() and path.samefile(build):
        right = f"that is the build file itself; name another file for {option}"
    else:
        return
    raise InputError(Fault(option, str(path), right))


def _explain(args: argparse.Namespace) -> int:
    from .build.load import load
    from .life.explain import explain, limit_ids
    from .report.explain import explain_text

    build = load(args.build)
    if args.limit is None:
        print("\n".join(limit_ids(build)))
        return 0
    found = explain(build, args.limit, say=_say)
    roots = {"margin": found.margin} | dict(found.split)
    title = f"{found.name}, {found.place}" if found.place else found.name
    notes = (f"Method: {found.source}", *found.notes)
    print(explain_text(roots, title=title, notes=notes, ascii_only=_ascii_only()))
    return 0


def _curve(args: argparse.Namespace) -> int:
    from .build.load import load

    if args.json and args.csv == "-":
        raise InputError(Fault("--csv", "-", "--json prints to the same place; give --csv a file's name"))
    power = None if args.target is None else _quantity("--target", args.target, "power", "W")
    if args.at is not None and power is None:
        raise InputError(Fault("--at", args.at, "it is the speed of a --target; give that too"))
    at = args.at if args.at in (None, "peak") else _quantity("--at", args.at, "turning speed", "rpm")
    build = load(args.build)
    speeds = _speeds(args, build)
    standards = _standards(args.standard)
    files = [("--report", args.report), ("--csv", None if args.csv == "-" else args.csv)]
    for option, path in files:
        if path is not None:
            _check_writable(Path(path), Path(args.build), option)
    if None not in (files[0][1], files[1][1]) and Path(args.report).resolve() == Path(args.csv).resolve():
        raise InputError(Fault("--csv", args.csv, "the report goes to that file; name another"))
    _tell_curve(args, build, speeds, standards, power, at)
    return 0


def _tell_curve(
    args: argparse.Namespace,
    build: Build,
    speeds: list[float] | None,
    standards: tuple[str, ...],
    power: float | None,
    at: float | str | None,
) -> None:
    from .report.curve import curve_with_pipes
    from .report.curve_csv import curve_csv
    from .report.curve_document import document
    from .report.curve_text import curve_text
    from .report.html import write

    gc.freeze()
    gc.enable()
    curve, pipes = curve_with_pipes(
        build, speeds, power=power, at=at, standards=standards, preview=args.preview
    )
    if args.report is not None:
        from .report.curve_page import render

        write(Path(args.report), render(curve, pipes))
        _say(f"Report written to {args.report}")
    if args.csv is not None and args.csv != "-":
        write(Path(args.csv), curve_csv(curve))
        _say(f"Table written to {args.csv}")
    if args.json:
        print(json.dumps(document(curve), indent=1, ensure_ascii=_ascii_only(), allow_nan=False))
    elif args.csv == "-":
        print(curve_csv(curve), end="")
    else:
        print(curve_text(curve, ascii_only=_ascii_only()))


def _quantity(option: str, text: str, dimension: str, unit: str) -> float:
    """A positive quantity given to an option, in SI; a bare number is in `unit`, where there is one."""
    from .units import parse

    bare = unit == "rpm" and text.strip().replace(".", "", 1).isdecimal()
    found = parse(f"{text} {unit}" if bare else text, dimension, option)
    if not found.si > 0.0:
        raise InputError(Fault(option, text, f"give a {dimension} above 0"))
    return found.si


def _speeds(args: argparse.Namespace, build: Build) -> list[float] | None:
    """The speeds that were asked for [rad/s]; None for the usual ones."""
    from .gas.curve import SPEED_RANGE, even_speeds, usual_speeds

    if (args.first, args.last, args.step) == (None, None, None):
        return None
    usual = usual_speeds(build)
    texts = {"--from": args.first, "--to": args.last, "--step": args.step}
    given = {
        option: _quantity(option, text, "turning speed", "rpm")
        for option, text in texts.items()
        if text is not None
    }
    for option in given.keys() - {"--step"}:
        if not SPEED_RANGE[0] <= given[option] <= SPEED_RANGE[1]:
            low, high = (round(speed * 30.0 / math.pi) for speed in SPEED_RANGE)
            raise InputError(Fault(option, texts[option], f"give a speed from {low} to {high} rpm"))
    first, last = given.get("--from", usual[0]), given.get("--to", usual[-1])
    if last < first:
        side = "--to" if "--to" in given else "--from"
        raise InputError(
            Fault(side, texts[side], "the lowest speed lies above the highest; exchange them or give both")
        )
    return even_speeds(first, last, given.get("--step"))


def _standards(names: list[str] | None) -> tuple[str, ...]:
    """Keys of the correction standards asked for; all of them when none is."""
    from .gas.corrections import STANDARDS

    if names is None:
        return tuple(STANDARDS)
    for name in names:
        if name not in STANDARDS:
            raise InputError(Fault("--standard", name, f"choose from {', '.join(STANDARDS)}"))
    return tuple(dict.fromkeys(names))


def _new(args: argparse.Namespace) -> int:
    from .build.template import new_build

    path = Path(args.path)
    text = new_build()
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        raise InputError(
            Fault("new", str(path), "there is a file already; name another, nothing was written")
        ) from None
    except OSError as error:
        raise InputError(Fault("new", str(path), f"it cannot be written ({error.strerror})")) from None
    print(f"Wrote {path}. Fill in what you measured, then: blockwright judge {path}")
    return 0


def demo_folder() -> Path:
    """Where the demo shop's builds lie: in the installed package or the source tree."""
    here = Path(__file__).resolve().parent
    for folder in (here / "examples", here.parent.parent / "examples"):
        if (folder / DEMO).is_file():
            return folder
    raise BlockwrightError("the demo builds are missing from this installation")


def _copy_demos(folder: Path) -> None:
    """Builds and the maps they name; a file that the user changed stays as it is."""
    shop = demo_folder()
    for source in (*sorted(shop.glob("*.toml")), *sorted(shop.glob("maps/*.csv"))):
        target = folder / source.relative_to(shop)
        target.parent.mkdir(parents=True, exist_ok=True)
        if target.exists() and target.read_bytes() != source.read_bytes():
            _say(f"{target} was changed; left as it is")
            continue
        target.write_bytes(source.read_bytes())


def _demo(args: argparse.Namespace) -> int:
    folder = Path(args.folder)
    if folder.exists() and not folder.is_dir():
        raise InputError(Fault("demo", str(folder), "there is a file of that name; name a folder"))
    try:
        _copy_demos(folder)
    except OSError as error:
        right = f"it cannot be written to ({error.strerror}); name another"
        raise InputError(Fault("demo", str(folder), right)) from None
    from .build.load import load

    report = folder / (Path(DEMO).stem + ".html")
    _answer(load(folder / DEMO), report=str(report))
    print(f"\nThe demo builds are in {folder} (invented engines of an invented shop).")
    print(f"The illustrated report: {report.resolve()}")
    return 0


def _schema(args: argparse.Namespace) -> int:
    if args.what == "build":
        from .build.schema import schema_text
    elif args.what == "curve":
        from .report.curve_document import schema_text
    else:
        from .report.contract import schema_text
    print(schema_text(), end="")
    return 0


_COMMANDS = {
    "judge": _judge,
    "curve": _curve,
    "explain": _explain,
    "new": _new,
    "demo": _demo,
    "schema": _schema,
}


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; errors the user can mend become one message and an exit code."""
    args = parser().parse_args(argv)
    # Our matrices are small: a second BLAS thread only fights with our own.  Set before NumPy is imported.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # Nor need Pydantic search every installed package for plugins of its own.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    # The collector would go through all that the imports make, again and again, and find nothing (0.1 s).
    gc.disable()
    try:
        code = _COMMANDS[args.command](args)
        sys.stdout.flush()
        return code
    except BlockwrightError as error:
        print(f"blockwright: {error}", file=sys.stderr)
        return error.exit_code
    except BrokenPipeError:
        # The reader (head, less) has gone; keep Python from complaining at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        print("blockwright: stopped", file=sys.stderr)
        return 130
    finally:
        gc.unfreeze()
        gc.enable()


def run() -> NoReturn:
    """The command as a process of its own: it ends as soon as the answer is out.

    To take down the compiler and every array one by one takes half a second, and is of use to nobody.
    """
    code = main()
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(code)


if __name__ == "__main__":
    run()
