// The parts of Asio and Beast that need compiling once.
#include <utility>

#include <boost/asio/impl/src.hpp>
#include <boost/beast/src.hpp>
