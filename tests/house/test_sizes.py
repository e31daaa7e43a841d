"""No file above 400 lines, no function above 70; what is larger is listed with its size, and the list may only shrink."""
import ast
import re
import unittest

import tree

FILE_MOST, FUNCTION_MOST = 400, 70
EXCEPTIONS = "tests/house/size_exceptions.txt"


def cpp_functions(name):
    """(name, lines) of each function with a body at namespace or class level; what stands inside it counts as its lines."""
    source = tree.code(name)
    source = re.sub(r"^[ \t]*#(?:[^\n]*\\\n)*[^\n]*", lambda m: re.sub(r"[^\n]", " ", m[0]), source, flags=re.MULTILINE)
    stack, head_begin, found = [], 0, []
    for match in re.finditer(r"[{};]", source):
        at, sign = match.start(), match[0]
        head = source[head_begin:at]
        if sign == "{":
            if any(kind != "container" for kind, _, _ in stack):
                kind = "block"
            elif re.search(r"\b(namespace|class|struct|union|enum|extern)\b[^()]*$", head) and "(" not in head.split("\n")[-1]:
                kind = "container"
            elif re.search(r"\)[\w\s]*:(?!:).*[\w>]\s*$", head, re.DOTALL):
                kind = "initializer"
            elif ")" in head and not re.search(r"[=,(]\s*$", head):
                kind = "function"
            else:
                kind = "block"
            first = head_begin + len(head) - len(head.lstrip())
            stack.append((kind, first, head))
        elif sign == "}" and stack:
            kind, first, head = stack.pop()
            if kind == "initializer":  # The body of the constructor is still to come.
                head_begin = first
                continue
            if kind == "function":
                called = re.search(r"([\w:~]+|operator\s*\S+?)\s*\(", head)
                found.append((called[1] if called else "?", source.count("\n", first, at) + 1))
        head_begin = at + 1
    return found


def python_functions(name):
    for node in ast.walk(ast.parse(tree.text(name))):
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            yield node.name, node.end_lineno - node.lineno + 1


def measured():
    """{what: lines} of everything above its bound; `file` or `file:function`."""
    large = {}
    for name in tree.files():
        is_script = "." not in name.split("/")[-1] and tree.text(name).startswith("#!")
        if not (name.endswith((".cpp", ".hpp", ".py", ".sql", ".js", ".css", ".html", ".txt")) or is_script):
            continue
        lines = tree.text(name).count("\n")
        if lines > FILE_MOST:
            large[name] = lines
        counter = {"cpp": cpp_functions, "hpp": cpp_functions, "py": python_functions}.get(name.rsplit(".")[-1])
        for function, length in counter(name) if counter else []:
            if length > FUNCTION_MOST:
                what = f"{name}:{function}"
                large[what] = max(length, large.get(what, 0))
    return large


class Sizes(unittest.TestCase):
    def test_what_is_large_is_listed_with_its_size_and_the_list_only_shrinks(self):
        listed = {}
        for line in tree.text(EXCEPTIONS).splitlines():
            if line and not line.startswith("#"):
                what, lines = line.rsplit(" ", 1)
                listed[what] = int(lines)
        large = measured()
        wrong = [f"{what}: {lines} lines" + (f", listed with {listed[what]}" if what in listed else "")
                 for what, lines in large.items() if lines > listed.get(what, 0)]
        wrong += [f"{what}: listed with {lines}, has {large.get(what, 'few')} now: change the list"
                  for what, lines in listed.items() if large.get(what, 0) < lines]
        self.assertEqual([], sorted(wrong), "\n" + "\n".join(sorted(wrong)))

    def test_the_brace_counter_finds_functions_where_they_are(self):
        found = dict(cpp_functions("tests/house/example_functions.hpp"))
        self.assertEqual({"shortest": 1, "Example": 3, "three_lines": 3, "with_a_lambda": 5, "Example::outside": 5,
                          "of_a_template": 4}, found)


if __name__ == "__main__":
    tree.main()
