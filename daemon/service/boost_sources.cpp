// The parts of Beast that need compiling once.
#include <utility>

#include <boost/beast/src.hpp>
