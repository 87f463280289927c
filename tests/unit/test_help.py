"""What the command says of itself: its help, its version, its exit codes, completion in three shells."""

from __future__ import annotations

import re
from collections.abc import Iterator

import click
import pytest
from click.shell_completion import get_completion_class
from click.testing import CliRunner

from service.cli import main, shared


def commands(group: click.Group, *before: str) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    """Yield every command below a group, with its words."""
    for name, command in group.commands.items():
        yield (*before, name), command
        if isinstance(command, click.Group):
            yield from commands(command, *before, name)


def told(*words: str) -> str:
    """Return what is printed for these words, which end well."""
    answer = CliRunner().invoke(main, words)
    assert answer.exit_code == 0, answer.output
    return answer.output


def test_the_help_lists_commands_and_exit_codes() -> None:
    """No sentence is cut off, every exit code there is stands there, and nothing is coloured."""
    text = told("--help")
    assert "..." not in text.replace("[ARGS]...", "")
    assert {int(code) for code in re.findall(r"^    (\d)  ", text, re.MULTILINE)} == {
        0, shared.FAILURE, shared.BAD_INPUT, shared.PENDING,
    }  # fmt: skip
    assert "\x1b" not in text


@pytest.mark.parametrize("words", [words for words, _ in commands(main)], ids=" ".join)
def test_every_command_says_what_it_does(words: tuple[str, ...]) -> None:
    """With a sentence of its own, and one for each option; plain numbers of arguments are named in it."""
    command = dict(commands(main))[words]
    assert command.help
    assert all(option.help for option in command.params if isinstance(option, click.Option))
    arguments = [each for each in command.params if isinstance(each, click.Argument)]
    assert all((each.metavar or each.name or "").rstrip(".").upper() in command.help for each in arguments)
    assert told(*words, "--help").startswith("Usage: ")


def test_the_version_is_what_a_plan_says_it_was_planned_by() -> None:
    """On one line, for whoever asks which program this is."""
    assert re.fullmatch(r"lapstock \S.*\n", told("--version"))


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_a_shell_can_complete(shell: str) -> None:
    """Its script names the command, and what it asks for is answered with the commands there are."""
    kind = get_completion_class(shell)
    assert kind
    completion = kind(main, {}, "lapstock", "_LAPSTOCK_COMPLETE")
    assert "lapstock" in completion.source()
    assert [item.value for item in completion.get_completions([], "st")] == ["status"]
    assert "--stock" in [item.value for item in completion.get_completions(["plan"], "--st")]
