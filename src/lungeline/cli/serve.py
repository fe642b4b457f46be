"""`lungeline serve`: the pages, on this computer unless they are opened to others on purpose."""

import argparse
from pathlib import Path
from typing import Any

from lungeline.cli.main import COMMANDS
from lungeline.errors import MissingError


def add_parser(subparsers: Any) -> None:  # noqa: ANN401  argparse keeps this type to itself
    """Describe the command line."""
    parser = subparsers.add_parser("serve", help=COMMANDS["serve"], description=COMMANDS["serve"])
    parser.add_argument("--port", type=int, default=8600, help="port (8600; 0 takes a free one)")
    parser.add_argument("--demo", action="store_true", help="a made-up clinic, in a folder of its own")
    parser.add_argument("--data", type=Path, help="data folder (LUNGELINE_DATA, or the platform's)")
    parser.add_argument(
        "--host",
        default="127.0.0.1",
        help="address to listen on; any but this computer's own takes people and TLS",
    )
    parser.add_argument(
        "--certificate", type=Path, help="certificate chain (PEM); one is made where none is given"
    )
    parser.add_argument("--certificate-key", type=Path, help="its key (PEM)")


def run(args: argparse.Namespace) -> None:
    """Serve until stopped."""
    from lungeline.record.store.folder import data_path
    from lungeline.theatre import Cases
    from lungeline.web.certificates import Certificate
    from lungeline.web.serve import Address, serve

    if bool(args.certificate) != bool(args.certificate_key):
        raise MissingError(
            where="certificate", given="one file", allowed="both or none", do="Give the chain and its key."
        )
    certificate = Certificate(chain=args.certificate, key=args.certificate_key) if args.certificate else None
    folder = args.data or (data_path() / "demo" if args.demo else data_path())
    address = Address(host=args.host, port=args.port, certificate=certificate)
    serve(Cases(folder), address, demo_only=args.demo)
