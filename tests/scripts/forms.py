"""Has others read what `barm check` writes for other programs: the demo season, and logs that mean no good.

    python forms.py BARM --packages NODE_MODULES --junit-schema XSD

SARIF is held against the published schema of 2.1.0 (in @microsoft/sarif-multitool) by check-jsonschema; JUnit against
the schema that pytest keeps in its sources (junit-10.xsd) by xmlschema; workflow commands, byte by byte, against what
GitHub's own @actions/core makes of the same.
"""

import argparse
import json
import pathlib
import re
import subprocess
import sys
import tempfile

import xmlschema

HERE = pathlib.Path(__file__).resolve().parent
PROJECT = HERE.parents[1]
SCHEMA = "@microsoft/sarif-multitool-linux/sarif-2.1.0.json"

# What ends, escapes or opens something in one of the forms.
BAD = [
    "]]>",
    "<![CDATA[",
    "&amp;<x>",
    "::error file=x::y",
    "100%25%0A",
    "a,b:c=d",
    "##[error]x",
    "[a](command:b)",
    "![a](http://b.invalid)",
    "`a``b`",
    '"\\u001b{0}',
    "\x1b[2J\x07",
    "\u202e\u2066\ufeff\u200b",
    "\ufffe\uffff\x01\x7f\x9b",
    "麦\U0001f37a\U000e0041",
]


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("barm", type=pathlib.Path)
    options.add_argument("--packages", type=pathlib.Path, required=True)
    options.add_argument("--junit-schema", type=pathlib.Path, required=True)
    given = options.parse_args()
    barm, packages = given.barm.resolve(), given.packages.resolve()
    junit = xmlschema.XMLSchema(str(given.junit_schema))
    with tempfile.TemporaryDirectory() as folder:
        hostile = pathlib.Path(folder) / "hostile"
        write_hostile(hostile)
        for logs in (PROJECT / "demo-logs", hostile):
            told = {form: check(barm, logs, form) for form in ("json", "sarif", "junit", "github")}
            findings = json.loads(told["json"])["findings"]
            assert len(findings) > 10, f"{len(findings)} findings in {logs}"
            sarif(packages, pathlib.Path(folder), told["sarif"])
            held_against(junit, told["junit"])
            commands(packages, told["github"], findings, plain=logs != hostile)
            print(f"{logs.name}: {len(findings)} findings, as their forms want them")


def check(barm: pathlib.Path, logs: pathlib.Path, form: str) -> str:
    done = subprocess.run([barm, "check", "--format", form], cwd=logs, capture_output=True)
    assert done.returncode in (0, 1) and not done.stderr, done
    return done.stdout.decode()


def write_hostile(folder: pathlib.Path) -> None:
    folder.mkdir()
    (folder / "barm.toml").write_text("")
    for count, bad in enumerate(BAD):
        name = f"{count} {bad}".replace("/", "∕") + ".barm"
        (folder / name).write_text(
            f'brew a{count} "{bad}"\n  wort {bad}\n  on 2026-10-01  pitch {bad} 20 mL, temp 18  # {bad}\n    {bad}\n',
            errors="surrogatepass",
        )


def sarif(packages: pathlib.Path, folder: pathlib.Path, text: str) -> None:
    assert validates(packages, folder, text), "the SARIF is not as its schema wants it"
    broken = json.loads(text)
    broken["runs"][0]["results"][0]["level"] = "dreadful"
    assert not validates(packages, folder, json.dumps(broken)), "the schema accepts anything"
    for result in json.loads(text)["runs"][0]["results"]:
        message = result["message"]
        assert "](" not in message["text"], message
        # Without code spans and escapes nothing is left that Markdown would act upon.
        bare = re.sub(r"(`+).*?(?<!`)\1(?!`)", "", message["markdown"])
        assert not re.search(r"(?<!\\)[\[\]<>!*_|&]", re.sub(r"\\\\", "", bare)), message


def validates(packages: pathlib.Path, folder: pathlib.Path, text: str) -> bool:
    written = folder / "out.sarif"
    written.write_text(text)
    command = [pathlib.Path(sys.executable).parent / "check-jsonschema", "--schemafile", packages / SCHEMA, written]
    return subprocess.run(command, stdout=subprocess.DEVNULL).returncode == 0


def held_against(schema: xmlschema.XMLSchema, text: str) -> None:
    wrong = [error.reason for error in schema.iter_errors(text)]
    assert not wrong, wrong
    broken = text.replace("<testcase classname=", "<testcase klassname=", 1)
    assert list(schema.iter_errors(broken)), "the schema accepts anything"


def commands(packages: pathlib.Path, text: str, findings: list[dict], plain: bool) -> None:
    *lines, last = text.splitlines()
    assert not last.startswith("::") and len(lines) == len(findings), (len(lines), len(findings))
    asked = []
    for line, finding in zip(lines, findings):
        level, head, message = re.fullmatch(r"::(\w+) (.*?)::(.*)", line).groups()
        values = dict(pair.split("=", 1) for pair in head.split(","))
        file, message = decoded(values["file"], "%2C", "%3A"), decoded(message)
        if plain:
            # Nothing in these needs a picture, so they are told as they are.
            assert (file, decoded(values["title"])) == (finding["file"], finding["rule"]), line
            assert message == "\n".join([finding["message"], *finding["notes"]]), line
        properties = {
            "title": decoded(values["title"], "%2C", "%3A"),
            "file": file,
            "startLine": int(values["line"]),
            "endLine": int(values["endLine"]),
        }
        if "col" in values:
            properties |= {"startColumn": int(values["col"]), "endColumn": int(values["endColumn"])}
        asked.append({"level": level, "message": message, "properties": properties})
    made = subprocess.run(
        ["node", HERE / "encode.mjs", packages / "x.js"],
        input=json.dumps(asked).encode(),
        capture_output=True,
        check=True,
    )
    assert made.stdout.decode().splitlines() == lines, "@actions/core writes them otherwise"


def decoded(text: str, *more: str) -> str:
    for code in ("%0A", "%0D", *more, "%25"):
        text = text.replace(code, chr(int(code[1:], 16)))
    return text


main()
