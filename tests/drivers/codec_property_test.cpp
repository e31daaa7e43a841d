// Nothing but the right answer gives a value; and what we ask and read is what libmodbus asks and reads.
#include <catch2/catch.hpp>
#include <modbus/modbus.h>
#include <rapidcheck.h>
#include <sys/socket.h>
#include <unistd.h>

#include <memory>

#include "drivers/modbus_tcp_frame.hpp"

using namespace standfast;

namespace {

using FrameBytes = std::vector<std::uint8_t>;

struct Question {
  ModbusRequest request;
  int data_bytes{0};  // Of the right answer to a read; 0 for a write.
  std::uint16_t transaction{1};
  ModbusFrame sent() const { return tcp_frame(request, transaction); }
};

Question any_question() {
  const Address at{*rc::gen::inRange(0, 256), Table::coil, *rc::gen::inRange(0, 60000)};
  const auto in = [&](Table table) { return Address{at.unit_id, table, at.start}; };
  const int bits = *rc::gen::inRange(1, 1969), words = *rc::gen::inRange(1, 124);
  Question question{};
  switch (*rc::gen::inRange(0, 8)) {
    case 0: question = {read_request(in(Table::coil), bits), (bits + 7) / 8}; break;
    case 1: question = {read_request(in(Table::discrete_input), bits), (bits + 7) / 8}; break;
    case 2: question = {read_request(in(Table::holding_register), words), 2 * words}; break;
    case 3: question = {read_request(in(Table::input_register), words), 2 * words}; break;
    case 4: question = {write_coil(at, words % 2 == 0), 0}; break;
    case 5: question = {write_register(in(Table::holding_register), static_cast<std::uint16_t>(bits)), 0}; break;
    case 6: question = {write_coils(at, Bits(static_cast<std::size_t>(bits), 1)), 0}; break;
    default: question = {write_registers(in(Table::holding_register), Words(static_cast<std::size_t>(words), 7)), 0};
  }
  question.transaction = *rc::gen::arbitrary<std::uint16_t>();
  return question;
}

FrameBytes right_answer(const Question& question) {
  const ModbusFrame sent = question.sent();
  const auto asked = sent.view();
  FrameBytes answer(asked.begin(), asked.begin() + 8);
  if (question.data_bytes == 0) {
    answer.insert(answer.end(), asked.begin() + 8, asked.begin() + 12);
  } else {
    answer.push_back(static_cast<std::uint8_t>(question.data_bytes));
    const auto data = *rc::gen::container<FrameBytes>(static_cast<std::size_t>(question.data_bytes),
                                                      rc::gen::arbitrary<std::uint8_t>());
    answer.insert(answer.end(), data.begin(), data.end());
  }
  answer[4] = 0;
  answer[5] = static_cast<std::uint8_t>(answer.size() - 6);
  return answer;
}

// What libmodbus writes on its socket, and what it makes of the answer that waits there.
class LibmodbusOnPaper {
 public:
  LibmodbusOnPaper() : context_{modbus_new_tcp("127.0.0.1", 502), modbus_free} {
    REQUIRE(socketpair(AF_UNIX, SOCK_STREAM, 0, ends_) == 0);
    modbus_set_socket(context_.get(), ends_[0]);
  }
  ~LibmodbusOnPaper() {
    close(ends_[0]);
    close(ends_[1]);
  }
  modbus_t* operator()(int unit, const FrameBytes& answer) {
    RC_ASSERT(write(ends_[1], answer.data(), answer.size()) == static_cast<ssize_t>(answer.size()));
    modbus_set_slave(context_.get(), unit);
    return context_.get();
  }
  FrameBytes asked() const {
    FrameBytes frame(300);
    const ssize_t size = read(ends_[1], frame.data(), frame.size());
    frame.resize(size < 0 ? 0 : static_cast<std::size_t>(size));
    return frame;
  }

 private:
  std::unique_ptr<modbus_t, void (*)(modbus_t*)> context_;
  int ends_[2]{};
};

FrameBytes frame_of(const ModbusRequest& request) {
  const ModbusFrame frame = tcp_frame(request, 1);
  return {frame.view().begin(), frame.view().end()};
}

}  // namespace

TEST_CASE("the right answer is taken, and no beginning of it is judged early", "[property]") {
  REQUIRE(rc::check([] {
    const Question question = any_question();
    const FrameBytes answer = right_answer(question);
    for (std::size_t size = 0; size < answer.size(); ++size)
      RC_ASSERT(judge_tcp_answer(question.sent().view(), std::span{answer}.first(size)) == std::nullopt);
    RC_ASSERT(judge_tcp_answer(question.sent().view(), answer) == Flaw::none);
  }));
}

TEST_CASE("an answer with one byte changed outside its data is never taken", "[property][fault-4]") {
  REQUIRE(rc::check([] {
    const Question question = any_question();
    FrameBytes answer = right_answer(question);
    const std::size_t fixed = question.data_bytes == 0 ? answer.size() : 9;
    const std::size_t place = *rc::gen::inRange<std::size_t>(0, fixed);
    answer[place] = static_cast<std::uint8_t>(answer[place] ^ *rc::gen::inRange(1, 256));
    RC_ASSERT(judge_tcp_answer(question.sent().view(), answer) != Flaw::none);
  }));
}

TEST_CASE("an answer with bytes behind it is never taken", "[property][fault-6]") {
  REQUIRE(rc::check([] {
    const Question question = any_question();
    FrameBytes answer = right_answer(question);
    const auto tail = *rc::gen::nonEmpty<FrameBytes>();
    answer.insert(answer.end(), tail.begin(), tail.end());
    RC_ASSERT(judge_tcp_answer(question.sent().view(), answer) == Flaw::malformed);
  }));
}

TEST_CASE("random bytes are never taken, unless they are the right answer", "[property][fault-4]") {
  REQUIRE(rc::check([] {
    const Question question = any_question();
    const ModbusFrame sent = question.sent();
    const auto asked = sent.view();
    auto bytes = *rc::gen::arbitrary<FrameBytes>();
    // Most of the time with a beginning that is right, for purely random bytes die at the first field.
    const std::size_t right = std::min(*rc::gen::inRange<std::size_t>(0, 10), bytes.size());
    const FrameBytes answer = right_answer(question);
    std::copy_n(answer.begin(), std::min(right, answer.size()), bytes.begin());
    const bool exact = bytes.size() == answer.size() && std::equal(bytes.begin(), bytes.begin() + 8, answer.begin()) &&
                       (question.data_bytes == 0 ? std::equal(bytes.begin(), bytes.end(), answer.begin())
                                                 : bytes[8] == question.data_bytes);
    RC_ASSERT((judge_tcp_answer(asked, bytes) == Flaw::none) == exact);
  }));
}

TEST_CASE("an answer to an earlier request is late, to one never asked it is foreign", "[property][fault-3]") {
  REQUIRE(rc::check([] {
    const Question question = any_question();
    FrameBytes answer = right_answer(question);
    const int behind = *rc::gen::inRange(1, 65536);
    const int number = ((answer[0] << 8 | answer[1]) - behind) & 0xFFFF;
    answer[0] = static_cast<std::uint8_t>(number >> 8);
    answer[1] = static_cast<std::uint8_t>(number);
    RC_ASSERT(judge_tcp_answer(question.sent().view(), answer) == (behind < 32768 ? Flaw::late : Flaw::foreign));
  }));
}

TEST_CASE("libmodbus asks for registers and bits with the same bytes and reads the same values", "[property]") {
  REQUIRE(rc::check([] {
    LibmodbusOnPaper libmodbus;
    const Address from{*rc::gen::inRange(1, 248), static_cast<Table>(*rc::gen::inRange(0, 4)), *rc::gen::inRange(0, 60000)};
    const bool bits = from.table == Table::coil || from.table == Table::discrete_input;
    const int count = *rc::gen::inRange(1, bits ? 2001 : 126);
    const Question question{read_request(from, count), bits ? (count + 7) / 8 : 2 * count};
    const FrameBytes answer = right_answer(question);
    modbus_t* context = libmodbus(from.unit_id, answer);
    Words words(static_cast<std::size_t>(count));
    Bits read_bits(static_cast<std::size_t>(count));
    int read = 0;
    switch (from.table) {
      case Table::coil: read = modbus_read_bits(context, from.start, count, read_bits.data()); break;
      case Table::discrete_input: read = modbus_read_input_bits(context, from.start, count, read_bits.data()); break;
      case Table::holding_register: read = modbus_read_registers(context, from.start, count, words.data()); break;
      case Table::input_register: read = modbus_read_input_registers(context, from.start, count, words.data()); break;
    }
    RC_ASSERT(read == count);
    RC_ASSERT(libmodbus.asked() == frame_of(question.request));
    if (bits) RC_ASSERT(bits_in(pdu_of_tcp(answer), count) == read_bits);
    else RC_ASSERT(words_in(pdu_of_tcp(answer)) == words);
  }));
}

TEST_CASE("libmodbus writes coils and registers with the same bytes", "[property]") {
  REQUIRE(rc::check([] {
    LibmodbusOnPaper libmodbus;
    const int unit = *rc::gen::inRange(1, 248), start = *rc::gen::inRange(0, 60000);
    const Address coil{unit, Table::coil, start}, holding{unit, Table::holding_register, start};
    const auto words = *rc::gen::container<Words>(*rc::gen::inRange<std::size_t>(1, 124), rc::gen::arbitrary<std::uint16_t>());
    const auto bits = *rc::gen::container<Bits>(*rc::gen::inRange<std::size_t>(1, 1969), rc::gen::inRange<std::uint8_t>(0, 2));
    const int kind = *rc::gen::inRange(0, 4);
    const ModbusRequest request = kind == 0   ? write_coil(coil, bits[0] != 0)
                            : kind == 1 ? write_register(holding, words[0])
                            : kind == 2 ? write_coils(coil, bits)
                                        : write_registers(holding, words);
    modbus_t* context = libmodbus(unit, right_answer({request, 0}));
    const int count = static_cast<int>(kind == 2 ? bits.size() : kind == 3 ? words.size() : 1);
    const int written = kind == 0   ? modbus_write_bit(context, start, bits[0])
                        : kind == 1 ? modbus_write_register(context, start, words[0])
                        : kind == 2 ? modbus_write_bits(context, start, count, bits.data())
                                    : modbus_write_registers(context, start, count, words.data());
    RC_ASSERT(written == count);
    RC_ASSERT(libmodbus.asked() == frame_of(request));
  }));
}
