"""What the core's library needs from outside: no clock, thread, file, locale, random number or stream, and of libm only sqrt."""
import collections
import re
import subprocess
import unittest

import tree

# The core may use these of config/: arithmetic and dictionaries. They are held to the same list, `ensure` apart, which
# ends the process and must say why.
CONFIG_MEMBERS_EXEMPT = {"ensure.cpp.o"}

ALLOWED = [re.compile(pattern) for pattern in (
    # The language itself: memory, exceptions, pure virtual calls, static locals, casts, guard values.
    r"operator (new|delete)(\[\])?\(.*", r"__cxa_(?!thread_atexit|atexit).*", r"__gxx_personality_v0", r"_Unwind_Resume",
    r"__stack_chk_fail",
    r"(vtable|typeinfo|typeinfo name) for (std::(exception|bad_\w+|logic_error|length_error|out_of_range)|__cxxabiv1::__\w+)",
    r"std::(terminate\(\)|exception::.*|bad_\w+::.*)", r"__dso_handle", r"_GLOBAL_OFFSET_TABLE_", r"__dynamic_cast",
    # std::shared_ptr asks it whether its count must be atomic; nothing is decided by it.
    r"__libc_single_threaded",
    # Memory and bytes.
    r"mem(cpy|move|set|cmp|chr)", r"strlen", r"__mem(cpy|move|set)_chk", r"abort",
    # Failures of containers, and the parts of the standard containers and strings that are compiled into libstdc++.
    r"std::__throw_(?!system_error)\w+\(.*", r"std::__cxx11::basic_string<char, .*", r"std::basic_string_view<char, .*",
    r"std::_Rb_tree_\w+\(.*", r"std::__detail::_List_node_base::.*",
    r"std::char_traits<char>::.*", r"std::allocator<.*", r"std::__glibcxx_assert_fail\(.*",
    # Text of numbers that no locale touches.
    r"std::(to_chars|from_chars)\(.*",
    # Exact to the last bit by IEEE 754 on every machine.
    r"sqrtf?",
)]



def symbols_of(archive):
    """{member: (defined, undefined)}, mangled names."""
    listing = subprocess.run(["nm", "-A", "-P", archive], capture_output=True, text=True, check=True).stdout
    members = collections.defaultdict(lambda: (set(), set()))
    for line in listing.splitlines():
        match = re.match(r".*\[(.+?)\]: (\S+) (\S)", line)
        if match:
            member, name, kind = match.groups()
            members[member][1 if kind in "Uwv" else 0].add(name)
    return members


def demangled(names):
    names = sorted(names)
    shown = subprocess.run(["c++filt"], input="\n".join(names), capture_output=True, text=True, check=True).stdout.splitlines()
    return dict(zip(names, shown))


def needed():
    """{symbol: the members that need it}, after those members of config/ that the core pulls in have been added."""
    core = symbols_of(tree.BUILD / "daemon" / "libstandfast_core.a")
    config = symbols_of(tree.BUILD / "config" / "libstandfast_config.a")
    home = {name: member for member, (defined, _) in config.items() for name in defined}
    pulled = {f"core/{member}": symbols for member, symbols in core.items()}
    waiting = list(pulled)
    while waiting:
        for name in pulled[waiting.pop()][1]:
            member = home.get(name)
            if member and member not in CONFIG_MEMBERS_EXEMPT and f"config/{member}" not in pulled:
                pulled[f"config/{member}"] = config[member]
                waiting.append(f"config/{member}")
    defined = set().union(*(symbols[0] for symbols in pulled.values()))
    defined |= set().union(*(config[member][0] for member in CONFIG_MEMBERS_EXEMPT if member in config))
    wanted = collections.defaultdict(list)
    for member, (_, undefined) in pulled.items():
        for name in undefined - defined:
            wanted[name].append(member)
    return wanted


class CoreSymbols(unittest.TestCase):
    def test_the_core_needs_nothing_that_is_not_on_the_list(self):
        wanted = needed()
        self.assertTrue(wanted, "nm found nothing: is the library there?")
        shown = demangled(wanted)
        wrong = [f"{shown[name]}  needed by {', '.join(sorted(members))}" for name, members in wanted.items()
                 if not any(pattern.fullmatch(shown[name]) for pattern in ALLOWED)]
        self.assertEqual([], wrong, "\n" + "\n".join(sorted(wrong)))

    def test_the_list_lets_no_clock_thread_file_or_libm_function_through(self):
        # Spellings of Debian 12's libstdc++, libc and libm.
        for name in ("clock_gettime", "time", "std::chrono::_V2::steady_clock::now()", "pthread_create", "std::thread::join()",
                     "fopen", "open", "read", "write", "std::cout",
                     "std::basic_ofstream<char, std::char_traits<char> >::open(char const*)",
                     "std::locale::classic()", "setlocale", "rand", "std::random_device::_M_getval()", "getenv",
                     "log", "log10", "exp", "pow", "sin", "cos", "tan", "atan", "atan2", "hypot", "cbrt", "fma", "printf",
                     "snprintf", "strtod", "std::__throw_system_error(int)",
                     "std::__detail::_Prime_rehash_policy::_M_next_bkt(unsigned long) const"):
            self.assertFalse(any(pattern.fullmatch(name) for pattern in ALLOWED), name)


if __name__ == "__main__":
    tree.main()
