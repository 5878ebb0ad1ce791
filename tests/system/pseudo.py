"""A language that nobody speaks, made of the English table: every letter of a pattern gets an accent, and each message
stands in ⟦ ⟧. What people read without either has not come out of the table."""
import json
import re

from programs import ROOT

ENGLISH = ROOT / "daemon" / "words" / "english"
ACCENTED = str.maketrans("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz", "ÅƁÇĐÈƑĜĤÌĴĶĻṀÑÖÞǪŔŠŢÛṼŴẊÝŽåƀçđèƒĝĥìĵķļṁñöþǫŕšţûṽŵẋýž")


def english():
    """{key: pattern}, in the order of the files."""
    table = {}
    for path in sorted(ENGLISH.glob("*.yaml")):
        for key, text in re.findall(r'^([\w.-]+): (".*")$', path.read_text(), re.MULTILINE):
            table[key] = json.loads(text)
    return table


def accented(pattern):
    """The pattern with its arguments and the words of its plurals as they are."""
    out, at = [], 0

    def message(end):
        nonlocal at
        while at < len(pattern) and pattern[at] != end:
            if pattern[at] == "{":
                argument()
            else:
                out.append(pattern[at].translate(ACCENTED))
                at += 1

    def argument():
        nonlocal at
        head = re.compile(r"\{\w+(, (plural|select),)?").match(pattern, at)
        out.append(head[0])
        at = head.end()
        while pattern[at] != "}":  # of a plural: "one {…} other {…}"
            selector = re.compile(r"\s*[=\w]+\s*\{").match(pattern, at)
            out.append(selector[0])
            at = selector.end()
            message("}")
            out.append("}")
            at += 1
            space = re.compile(r"\s*").match(pattern, at)
            out.append(space[0])
            at = space.end()
        out.append("}")
        at += 1

    message(None)
    return "".join(out)


def write(folder):
    """A translator's folder with this language in it."""
    folder.mkdir()
    rows = ["language: en-XA"]
    for key, pattern in english().items():
        # Ways to say one thing are messages each.
        made = "|".join(f"⟦{accented(way)}⟧" for way in pattern.split("|")) if re.search("[A-Za-z]", pattern) else pattern
        rows.append(f"{key}: {json.dumps(made, ensure_ascii=False)}")
    (folder / "sentences.yaml").write_text("\n".join(rows) + "\n")
    return folder


def unaccented(text, names):
    """The words of plain letters that are no names, of a text that people read."""
    text = re.sub(r"plainwater [a-z-]+(?: [\w/-]+)?(?: --to (?:in|out)doors)?", " ", text)  # a command
    text = re.sub(r"[a-z]+(?:-[a-z]+)*/[\w-]+(?:/[a-z-]+)?", " ", text)  # the id of a notice
    text = re.sub(r"`[^`]*`|\"[^\"]*\"", " ", text)  # a field's name, or what somebody wrote
    for name in sorted(names, key=len, reverse=True):
        text = re.sub(rf"(?<![\w-]){re.escape(name)}(?![\w-])", " ", text)
    text = text.replace("°C", " ").replace("°F", " ")
    text = re.sub(r"\d{4}-\d\d-\d\dT[\d:.]+Z", " ", text)
    return re.findall(r"(?<![^\W\d_])[A-Za-z]+(?![^\W\d_])", text)
