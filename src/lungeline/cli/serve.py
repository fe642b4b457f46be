"""`lungeline serve`: the pages, on this computer."""

import argparse
from pathlib import Path
from typing import Any

from lungeline.cli.main import COMMANDS


def add_parser(subparsers: Any) -> None:  # noqa: ANN401  argparse keeps this type to itself
    """Describe the command line."""
    parser = subparsers.add_parser("serve", help=COMMANDS["serve"], description=COMMANDS["serve"])
    parser.add_argument("--port", type=int, default=8600, help="port (8600; 0 takes a free one)")
    parser.add_argument("--demo", action="store_true", help="a made-up clinic, in a folder of its own")
    parser.add_argument("--data", type=Path, help="data folder (LUNGELINE_DATA, or the platform's)")


def run(args: argparse.Namespace) -> None:
    """Serve until stopped."""
    from lungeline.record.store.folder import data_path
    from lungeline.theatre import Cases
    from lungeline.web.serve import Address, serve

    folder = args.data or (data_path() / "demo" if args.demo else data_path())
    cases = Cases(folder)
    serve(cases, Address(port=args.port), demo_only=args.demo)
