"""The editor service as a client sees it that others wrote: pygls and lsprotocol."""

import asyncio
import os
import pathlib
import shutil
import tempfile
import unittest

from lsprotocol import types
from pygls.lsp.client import LanguageClient

ROOT = pathlib.Path(__file__).resolve().parents[2]
DEADLINE_SECONDS = 60


class Client(LanguageClient):
    """A client that remembers how its service ended."""

    exit_code = None

    async def server_exit(self, server):
        self.exit_code = server.returncode


class Editor:
    """An editor with the house's rules open, on a copy of the rulesets."""

    def __init__(self, folder):
        self.path = folder / "skerry" / "house.rules"
        self.uri = self.path.as_uri()
        self.text = self.path.read_text(encoding="utf-8")
        self.version = 1
        self.told = asyncio.Queue()
        self.client = Client("loftwright-tests", "1")

        @self.client.feature("textDocument/publishDiagnostics")
        def take(params):
            if params.uri == self.uri:
                self.told.put_nowait(params)

    async def start(self):
        await self.client.start_io(os.environ["LOFTWRIGHT"], "editor")
        utf8 = types.GeneralClientCapabilities(
            position_encodings=[types.PositionEncodingKind.Utf8, types.PositionEncodingKind.Utf16]
        )
        answer = await self.client.initialize_async(
            types.InitializeParams(capabilities=types.ClientCapabilities(general=utf8))
        )
        self.client.initialized(types.InitializedParams())
        self.client.text_document_did_open(
            types.DidOpenTextDocumentParams(
                types.TextDocumentItem(self.uri, "loftwright", self.version, self.text)
            )
        )
        return answer

    async def errors(self):
        """The errors of the newest version."""
        while True:
            params = await asyncio.wait_for(self.told.get(), DEADLINE_SECONDS)
            if params.version == self.version:
                severe = types.DiagnosticSeverity.Error
                return [found for found in params.diagnostics if found.severity == severe]

    def change(self, text):
        self.version += 1
        self.text = text
        self.client.text_document_did_change(
            types.DidChangeTextDocumentParams(
                types.VersionedTextDocumentIdentifier(self.version, self.uri),
                [types.TextDocumentContentChangeWholeDocument(text)],
            )
        )

    def place(self, text, after=0):
        """Where a text begins; the rules are ASCII, so bytes are characters."""
        before = self.text[: self.text.index(text) + after]
        return types.Position(before.count("\n"), len(before) - before.rfind("\n") - 1)

    def at(self, kind, text, after=0, **rest):
        document = types.TextDocumentIdentifier(self.uri)
        return kind(text_document=document, position=self.place(text, after), **rest)

    async def stop(self):
        await self.client.shutdown_async(None)
        self.client.exit(None)
        await asyncio.wait_for(self.client.stop(), DEADLINE_SECONDS)
        return self.client.exit_code


class EditorTest(unittest.IsolatedAsyncioTestCase):
    async def asyncSetUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        root = pathlib.Path(folder.name).resolve()
        for name in ("common", "skerry"):
            shutil.copytree(ROOT / "rulesets" / name, root / name)
        self.root = root
        self.editor = Editor(root)

    async def test_a_manager_edits_a_house_rule(self):
        editor = self.editor
        answer = await editor.start()
        self.assertEqual(answer.server_info.name, "loftwright")
        self.assertEqual(answer.capabilities.position_encoding, "utf-8")
        self.assertEqual(await editor.errors(), [])

        # A row is narrowed: a player with exactly 8 degrees matches none.
        sound = editor.text
        editor.change(sound.replace("5 through 8 deg", "5 to under 8 deg"))
        [gap] = await editor.errors()
        self.assertEqual((gap.code, gap.source), ("L0402", "loftwright"))
        self.assertIn("8 deg", gap.message)
        editor.change(sound)
        self.assertEqual(await editor.errors(), [])

        hover = await editor.client.text_document_hover_async(
            editor.at(types.HoverParams, "steepness\n", 3)
        )
        self.assertEqual(hover.contents.kind, types.MarkupKind.Markdown)
        for part in ("let steepness : angle", "`wedge_bounce`", "Layer: `common`"):
            self.assertIn(part, hover.contents.value)

        place = await editor.client.text_document_definition_async(
            editor.at(types.DefinitionParams, "steepness\n")
        )
        self.assertEqual(place.uri, (self.root / "common" / "wedges.rules").as_uri())

        await self.rename()
        await self.complete()
        self.assertEqual(await editor.stop(), 0)

    async def rename(self):
        editor = self.editor
        edit = await editor.client.text_document_rename_async(
            editor.at(types.RenameParams, "bunker_sand and", new_name="ground")
        )
        files = {pathlib.PurePosixPath(uri).name for uri in edit.changes}
        self.assertEqual(files, {"house.rules", "cases.rules"})
        for uri, edits in edit.changes.items():
            path = pathlib.Path(uri.removeprefix("file://"))
            path.write_text(edited(path.read_text(encoding="utf-8"), edits), encoding="utf-8")
        renamed = editor.path.read_text(encoding="utf-8")
        self.assertIn("input ground : sand_kind", renamed)
        self.assertIn("formerly bunker_sand", renamed)
        editor.change(renamed)
        editor.client.workspace_did_change_watched_files(
            types.DidChangeWatchedFilesParams(
                [types.FileEvent(uri, types.FileChangeType.Changed) for uri in edit.changes]
            )
        )
        self.assertEqual(await editor.errors(), [])

    async def complete(self):
        editor = self.editor
        editor.change(editor.text + "\nlet is_wet : flag = ground is ")
        await editor.errors()
        end = editor.text.rstrip(" ")[-12:]
        answer = await editor.client.text_document_completion_async(
            editor.at(types.CompletionParams, end, len(end) + 1)
        )
        items = answer if isinstance(answer, list) else answer.items
        best = sorted(items, key=lambda item: item.sort_text)[:2]
        self.assertEqual({item.label for item in best}, {"firm", "soft"})


def edited(text, edits):
    """The text with edits that each lie within a line."""
    lines = text.split("\n")
    for edit in sorted(
        edits, key=lambda edit: (edit.range.start.line, edit.range.start.character), reverse=True
    ):
        start, end = edit.range.start, edit.range.end
        assert start.line == end.line
        line = lines[start.line]
        lines[start.line] = line[: start.character] + edit.new_text + line[end.character :]
    return "\n".join(lines)


if __name__ == "__main__":
    unittest.main()
