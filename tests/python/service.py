"""Starts the built program on a free port and talks to it without any code generated from its
proto files: the messages come through server reflection, as a foreign client would get them."""

import os
import pathlib
import re
import signal
import subprocess
import tempfile
import tomllib
import unittest

import grpc
from google.protobuf import message_factory
from google.protobuf.descriptor_pool import DescriptorPool
from grpc_reflection.v1alpha.proto_reflection_descriptor_database import (
    ProtoReflectionDescriptorDatabase,
)

ROOT = pathlib.Path(__file__).resolve().parents[2]
SERVICE = "loftwright.v1.FittingService"
RULESETS = "loftwright.v1.RulesetService"
PARTS = "loftwright.v1.PartsService"
DEADLINE_SECONDS = 30


class Service:
    """A running `loftwright serve` with a channel to it; further arguments go to the command."""

    def __init__(self, *arguments):
        self.process = subprocess.Popen(
            [os.environ["LOFTWRIGHT"], "serve", "--listen", "127.0.0.1:0", *arguments],
            stdout=subprocess.PIPE,
            text=True,
        )
        line = self.process.stdout.readline()
        found = re.fullmatch(r"listening on http://(127\.0\.0\.1:\d+)\n", line)
        if not found:
            self.process.kill()
            raise RuntimeError(f"the program did not say where it listens but {line!r}")
        self.address = found[1]
        self.channel = grpc.insecure_channel(self.address)
        self.pool = DescriptorPool(ProtoReflectionDescriptorDatabase(self.channel))

    def stop(self):
        """Asks the program to stop; its exit code."""
        self.channel.close()
        self.process.send_signal(signal.SIGTERM)
        code = self.process.wait(timeout=DEADLINE_SECONDS)
        self.process.stdout.close()
        return code

    def message(self, name):
        """The class of a message of `loftwright.v1`."""
        descriptor = self.pool.FindMessageTypeByName(f"loftwright.v1.{name}")
        return message_factory.GetMessageClass(descriptor)

    def call(self, method, request, service=SERVICE):
        """Calls a method of a service, the fitting service where none is named."""
        answer = self.message(f"{method}Response")
        invoke = self.channel.unary_unary(
            f"/{service}/{method}",
            request_serializer=lambda message: message.SerializeToString(),
            response_deserializer=answer.FromString,
        )
        return invoke(request, timeout=DEADLINE_SECONDS)

    def request(self, player):
        """The request of one of the demo's players."""
        path = ROOT / "rulesets" / "demo" / "players" / f"{player}.toml"
        file = tomllib.loads(path.read_text(encoding="utf-8"))
        request = self.message("RecommendRequest")(
            ruleset=file["ruleset"], subject=file["subject"], preview=True
        )
        for name, reading in file["readings"].items():
            fields = reading if isinstance(reading, dict) else {"value": reading}
            target = request.readings[name]
            target.value = str(fields["value"])
            if "spread" in fields:
                target.spread = fields["spread"]
            if "shots" in fields:
                target.shots = fields["shots"]
        for club in file.get("kept", []):
            request.kept_clubs.add(**club)
        return request


class RecordedCase(unittest.TestCase):
    """A test before a service of its own that records, in a directory of its own."""

    def setUp(self):
        self.data = tempfile.TemporaryDirectory()
        self.service = Service("--data", self.data.name)

    def tearDown(self):
        self.assertEqual(self.service.stop(), 0)
        self.data.cleanup()
