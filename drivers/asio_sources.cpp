// The parts of Asio that need compiling once.
#include <utility>

#include <boost/asio/impl/src.hpp>
