#include "tools/seat/foresight.h"

#if defined(__x86_64__)

#include <Zydis/Zydis.h>
#include <ucontext.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cstring>
#include <optional>

#include "tools/seat/foresight_host.h"
#include "tools/seat/instruction.h"
#include "tools/seat/shadow.h"

// NOLINTBEGIN(performance-no-int-to-ptr): addresses are numbers in instructions
namespace drybus::tools {

namespace {

constexpr std::uint64_t trap_flag = 0x100;
/// More than any turn should take; some tenths of a second.
constexpr std::uint64_t most_instructions = 50'000;
/// Goes through one turn.
class Foresight {
 public:
  explicit Foresight(const Foreseeing& wanted)
      : wanted_(wanted), host_(wanted.call, wanted.period * static_cast<std::int64_t>(wanted.round)) {
    ZydisDecoderInit(&decoder_, ZYDIS_MACHINE_MODE_LONG_64, ZYDIS_STACK_WIDTH_64);
    for (const GrowingWord& word : wanted.words) memory_.write(word.at, 4, Growing{0, word.by, 32}, turns_);
  }

  /// Before each call.
  void begin() {
    registers_.clear();
    flags_ = {};
    at_end_ = false;
    seen_end_ = false;
  }

  /// Before each instruction. False: it goes no further.
  bool take_in(ucontext_t& context) {
    auto& machine = context.uc_mcontext.gregs;
    for (std::size_t i = 0; i < register_count; ++i)
      now_[i] = static_cast<std::uint64_t>(machine[register_places[i]]);
    eflags_ = static_cast<std::uint64_t>(machine[REG_EFL]);
    pc_ = static_cast<std::uintptr_t>(machine[REG_RIP]);
    seen_end_ = at_end_;
    if (++instructions_ > most_instructions) return give_up();
    if (host_.has(pc_)) return ask_host(machine) || give_up();
    Instruction next;
    next.at = pc_;
    return (decode(decoder_, next) && take(next) && memory_.fits() && turns_.count() != 0) || give_up();
  }

  /// The call has returned: what comes next is nobody's turn.
  void end() { at_end_ = true; }

  /// After each call: whether all grows as it should. Where the processor did not stop after each instruction up to the end of the
  /// call, nothing is known.
  [[nodiscard]] bool holds() {
    if (given_up_ || !seen_end_ || !memory_.fits()) return false;
    for (const GrowingWord& word : wanted_.words) expect(word.at, memory_.read(word.at, 4, turns_).slope);
    for (const std::span<std::byte> range : wanted_.variables) {
      const auto begin = reinterpret_cast<std::uintptr_t>(range.data());
      memory_.each_word(begin, begin + range.size(), turns_,
                        [&](std::uintptr_t at, std::int64_t slope) { expect(at, slope); });
    }
    return turns_.count() != 0;
  }
  [[nodiscard]] std::uint64_t turns() const { return turns_.count(); }

 private:
  bool give_up() {
    given_up_ = true;
    return false;
  }

  void expect(std::uintptr_t at, std::int64_t slope) {
    const auto known = std::find_if(wanted_.words.begin(), wanted_.words.end(),
                                    [&](const GrowingWord& each) { return each.at == at; });
    const std::uint32_t by = known == wanted_.words.end() ? 0 : known->by;
    if (static_cast<std::uint32_t>(slope) != by) turns_.at_most(0);
  }

  // --- the host's functions are called, not gone through ---

  bool ask_host(greg_t* machine) {
    const std::size_t count = host_.arguments(pc_);
    std::array<std::uint64_t, most_host_arguments> arguments{};
    for (std::size_t i = 0; i < count; ++i) {
      const std::size_t number = host_argument_registers[i];
      if (!registers_.stays(number)) return false;
      arguments[i] = now_[number];
    }
    if (const auto [at, bytes] = host_.writes_to(pc_, arguments); bytes != 0)
      memory_.settle(at, bytes, turns_);
    const HostAnswer answer = host_.ask(pc_, arguments);
    if (!answer.known) return false;
    // What a function may use for itself nobody reads after it.
    for (const std::size_t number : host_scratch_registers) registers_.write(now_, number, 64, {}, turns_);
    registers_.write(now_, rax, 64, {answer.value, answer.slope, answer.bits}, turns_);
    flags_ = {};
    machine[REG_RAX] = static_cast<greg_t>(answer.value);
    std::uint64_t back = 0;
    std::memcpy(&back, reinterpret_cast<const void*>(now_[rsp]), sizeof back);
    machine[REG_RIP] = static_cast<greg_t>(back);
    machine[REG_RSP] += static_cast<greg_t>(sizeof back);
    return memory_.fits();
  }

  // --- instructions ---

  /// One that has nothing to do with what grows, or one that is known.
  bool take(const Instruction& next) {
    const auto operands = std::span{next.operands}.first(next.code.operand_count);
    if (!addresses_stay(operands)) return next.code.mnemonic == ZYDIS_MNEMONIC_LEA && take_address(next);
    if (asks_growing_flags(next)) {
      const auto condition = condition_of(next);
      if (!condition || !flags_.keeps(*condition, turns_)) return false;
    }
    const bool grows = std::any_of(operands.begin(), operands.end(), [&](const ZydisDecodedOperand& each) {
      return (each.actions & ZYDIS_OPERAND_ACTION_MASK_READ) != 0 && !stays(next, each);
    });
    return grows ? take_growing(next) : take_constant(next);
  }

  /// Where it reads and writes does not grow.
  [[nodiscard]] bool addresses_stay(std::span<const ZydisDecodedOperand> operands) const {
    return std::all_of(operands.begin(), operands.end(), [&](const ZydisDecodedOperand& each) {
      if (each.type != ZYDIS_OPERAND_TYPE_MEMORY) return true;
      const std::size_t base = number_of(each.mem.base);
      const std::size_t index = number_of(each.mem.index);
      // A vector of addresses.
      if (each.mem.index != ZYDIS_REGISTER_NONE && index == register_count) return false;
      return (base == register_count || registers_.stays(base)) &&
             (index == register_count || registers_.stays(index));
    });
  }

  [[nodiscard]] bool stays(const Instruction& next, const ZydisDecodedOperand& operand) const {
    if (operand.type == ZYDIS_OPERAND_TYPE_REGISTER) {
      const std::size_t number = number_of(operand.reg.value);
      return number == register_count || registers_.stays(number);
    }
    if (operand.type != ZYDIS_OPERAND_TYPE_MEMORY || operand.mem.type != ZYDIS_MEMOP_TYPE_MEM ||
        is_of_the_thread(operand))
      return true;
    return memory_.stays(address_of(now_, next, operand), operand.size / 8);
  }

  // --- flags ---

  [[nodiscard]] bool asks_growing_flags(const Instruction& next) const {
    constexpr std::uint32_t of_results = ZYDIS_CPUFLAG_CF | ZYDIS_CPUFLAG_PF | ZYDIS_CPUFLAG_AF |
                                         ZYDIS_CPUFLAG_ZF | ZYDIS_CPUFLAG_SF | ZYDIS_CPUFLAG_OF;
    return flags_.kind != GrowingFlags::Kind::constant && next.code.cpu_flags != nullptr &&
           (next.code.cpu_flags->tested & of_results) != 0;
  }

  void set_flags(const Instruction& next, const GrowingFlags& flags) {
    const ZydisAccessedFlags* accessed = next.code.cpu_flags;
    if (accessed == nullptr) return;
    const std::uint32_t written =
        accessed->modified | accessed->set_0 | accessed->set_1 | accessed->undefined;
    constexpr std::uint32_t counted =
        ZYDIS_CPUFLAG_ZF | ZYDIS_CPUFLAG_SF | ZYDIS_CPUFLAG_CF | ZYDIS_CPUFLAG_OF;
    if ((written & counted) == 0) return;
    const bool was_growing = flags_.kind != GrowingFlags::Kind::constant;
    flags_ = flags;
    if (!was_growing || ((written & counted) == counted && !may_shift_by_nothing(next))) return;
    // Some stay what they were: the carry alone, of which nobody knows anything then, or others.
    constexpr std::uint32_t without_carry = counted & ~static_cast<std::uint32_t>(ZYDIS_CPUFLAG_CF);
    const bool only_carry = (written & without_carry) == without_carry && !may_shift_by_nothing(next);
    flags_.kind = only_carry ? GrowingFlags::Kind::result : GrowingFlags::Kind::unknown;
  }

  // --- what has nothing to do with what grows ---

  bool take_constant(const Instruction& next) {
    // They change the trap flag, or read what is not told among the operands.
    if (next.code.mnemonic == ZYDIS_MNEMONIC_POPFQ || next.code.mnemonic == ZYDIS_MNEMONIC_POPF) return false;
    if (next.code.mnemonic == ZYDIS_MNEMONIC_LEAVE && !memory_.stays(now_[rbp], sizeof(std::uint64_t)))
      return false;
    const auto operands = std::span{next.operands}.first(next.code.operand_count);
    for (const ZydisDecodedOperand& each : operands) {
      if ((each.actions & ZYDIS_OPERAND_ACTION_MASK_WRITE) == 0) continue;
      if (each.type == ZYDIS_OPERAND_TYPE_REGISTER) {
        const std::size_t number = number_of(each.reg.value);
        if (number == register_count || registers_.stays(number)) continue;
        if (is_high_byte(each.reg.value)) return false;
        registers_.write(now_, number, each.size, Growing{0, 0, each.size}, turns_);
      } else if (each.type == ZYDIS_OPERAND_TYPE_MEMORY && each.mem.type == ZYDIS_MEMOP_TYPE_MEM &&
                 !is_of_the_thread(each)) {
        memory_.settle(address_of(now_, next, each), each.size / 8, turns_);
      }
    }
    set_flags(next, {});
    return true;
  }

  // --- what has ---

  std::optional<Growing> read(const Instruction& next, const ZydisDecodedOperand& operand) {
    const unsigned bits = operand.size;
    if (bits > 64) return std::nullopt;
    if (operand.type == ZYDIS_OPERAND_TYPE_IMMEDIATE) return Growing{operand.imm.value.u, 0, bits};
    if (operand.type == ZYDIS_OPERAND_TYPE_MEMORY) {
      if (is_of_the_thread(operand)) return std::nullopt;
      return memory_.read(address_of(now_, next, operand), bits / 8, turns_);
    }
    const std::size_t number =
        operand.type == ZYDIS_OPERAND_TYPE_REGISTER ? number_of(operand.reg.value) : register_count;
    if (number == register_count) return std::nullopt;
    if (!is_high_byte(operand.reg.value)) return registers_.read(now_, number, bits, turns_);
    if (!registers_.stays(number)) return std::nullopt;
    return Growing{now_[number] >> 8, 0, bits};
  }

  bool write(const Instruction& next, const ZydisDecodedOperand& operand, const Growing& x) {
    if (operand.type == ZYDIS_OPERAND_TYPE_MEMORY) {
      if (is_of_the_thread(operand) || x.bits != operand.size) return false;
      memory_.write(address_of(now_, next, operand), operand.size / 8, x, turns_);
      return true;
    }
    const std::size_t number =
        operand.type == ZYDIS_OPERAND_TYPE_REGISTER ? number_of(operand.reg.value) : register_count;
    if (number == register_count || is_high_byte(operand.reg.value)) return false;
    registers_.write(now_, number, operand.size, x, turns_);
    return true;
  }

  bool take_move_if(const Instruction& next) {
    const auto& to = next.operands[0];
    const auto from = read(next, is_so(eflags_, next.code.opcode & 0xf) ? next.operands[1] : to);
    return from && write(next, to, *from);
  }

  bool take_growing(const Instruction& next) {
    if (next.code.meta.category == ZYDIS_CATEGORY_CMOV) return take_move_if(next);
    switch (next.code.mnemonic) {
      case ZYDIS_MNEMONIC_LEA:
        return take_address(next);
      case ZYDIS_MNEMONIC_MOV:
      case ZYDIS_MNEMONIC_MOVZX:
      case ZYDIS_MNEMONIC_MOVSX:
      case ZYDIS_MNEMONIC_MOVSXD:
      case ZYDIS_MNEMONIC_PUSH:
      case ZYDIS_MNEMONIC_POP:
      case ZYDIS_MNEMONIC_CDQE:
      case ZYDIS_MNEMONIC_CWDE:
        return take_move(next);
      case ZYDIS_MNEMONIC_CDQ:
      case ZYDIS_MNEMONIC_CQO:
        return take_sign(next);
      case ZYDIS_MNEMONIC_ADD:
      case ZYDIS_MNEMONIC_SUB:
      case ZYDIS_MNEMONIC_CMP:
      case ZYDIS_MNEMONIC_INC:
      case ZYDIS_MNEMONIC_DEC:
      case ZYDIS_MNEMONIC_NEG:
      case ZYDIS_MNEMONIC_NOT:
        return take_sum(next);
      case ZYDIS_MNEMONIC_AND:
      case ZYDIS_MNEMONIC_TEST:
      case ZYDIS_MNEMONIC_OR:
      case ZYDIS_MNEMONIC_XOR:
        return take_logic(next);
      case ZYDIS_MNEMONIC_IMUL:
        return take_product(next);
      case ZYDIS_MNEMONIC_SHL:
      case ZYDIS_MNEMONIC_SHR:
      case ZYDIS_MNEMONIC_SAR:
        return take_shift(next);
      default:
        return false;
    }
  }

  bool take_move(const Instruction& next) {
    const auto operands = std::span{next.operands}.first(next.code.operand_count);
    const auto with = [&](std::uint8_t action, bool explicit_ones) {
      return std::find_if(operands.begin(), operands.end(), [&](const ZydisDecodedOperand& each) {
        const bool is_stack =
            each.type == ZYDIS_OPERAND_TYPE_REGISTER && number_of(each.reg.value) == rsp && !explicit_ones;
        return (each.actions & action) != 0 && !is_stack &&
               (!explicit_ones || each.visibility == ZYDIS_OPERAND_VISIBILITY_EXPLICIT);
      });
    };
    const bool is_plain =
        next.code.mnemonic != ZYDIS_MNEMONIC_PUSH && next.code.mnemonic != ZYDIS_MNEMONIC_POP &&
        next.code.mnemonic != ZYDIS_MNEMONIC_CDQE && next.code.mnemonic != ZYDIS_MNEMONIC_CWDE;
    const auto from = with(ZYDIS_OPERAND_ACTION_MASK_READ, is_plain);
    const auto to = with(ZYDIS_OPERAND_ACTION_MASK_WRITE, is_plain);
    if (from == operands.end() || to == operands.end()) return false;
    auto x = read(next, *from);
    if (!x) return false;
    if (to->size > x->bits) {
      if (next.code.mnemonic == ZYDIS_MNEMONIC_MOVZX) {
        turns_.stays_unsigned(*x);
        x = Growing{x->value, x->steps(), to->size};
      } else {
        turns_.stays_signed(*x);
        x = Growing{static_cast<std::uint64_t>(with_sign(x->value, x->bits)), x->steps(), to->size};
      }
    }
    return write(next, *to, *x);
  }

  /// The sign of a register fills another one.
  bool take_sign(const Instruction& next) {
    const unsigned bits = next.code.mnemonic == ZYDIS_MNEMONIC_CDQ ? 32 : 64;
    turns_.keeps_sign(registers_.read(now_, rax, bits, turns_));
    constexpr std::size_t rdx = 2;
    registers_.write(now_, rdx, bits, Growing{0, 0, bits}, turns_);
    return true;
  }

  bool take_address(const Instruction& next) {
    const auto& to = next.operands[0];
    const auto& from = next.operands[1];
    if (next.code.address_width != 64) return false;
    Growing sum{address_of(now_, next, from), 0, to.size};
    const auto add = [&](ZydisRegister name, std::uint64_t times) {
      const std::size_t number = number_of(name);
      if (number == register_count) return;
      sum = {sum.value, sum.steps() + registers_.read(now_, number, to.size, turns_).steps() * times,
             to.size};
    };
    add(from.mem.base, 1);
    add(from.mem.index, from.mem.scale);
    return write(next, to, sum);
  }

  bool take_sum(const Instruction& next) {
    const auto a = read(next, next.operands[0]);
    if (!a) return false;
    const bool has_two = next.code.operand_count_visible > 1;
    const auto b = has_two ? read(next, next.operands[1]) : std::optional{Growing{1, 0, a->bits}};
    if (!b) return false;
    // What is added at once is given in fewer bits, with its sign.
    const std::uint64_t second = static_cast<std::uint64_t>(with_sign(b->value, b->bits));
    GrowingFlags flags;
    flags.a = *a;
    flags.b = Growing{second, b->steps(), a->bits};
    flags.kind = GrowingFlags::Kind::result;
    switch (next.code.mnemonic) {
      case ZYDIS_MNEMONIC_ADD:
      case ZYDIS_MNEMONIC_INC:
        flags.result = {a->value + second, a->steps() + b->steps(), a->bits};
        break;
      case ZYDIS_MNEMONIC_NEG:
        flags.result = {0 - a->value, 0 - a->steps(), a->bits};
        break;
      case ZYDIS_MNEMONIC_NOT:
        return write(next, next.operands[0], {~a->value, 0 - a->steps(), a->bits});
      default:
        flags.result = {a->value - second, a->steps() - b->steps(), a->bits};
        if (has_two) flags.kind = GrowingFlags::Kind::comparison;
        break;
    }
    const bool compares = next.code.mnemonic == ZYDIS_MNEMONIC_CMP;
    if (!compares && !write(next, next.operands[0], flags.result)) return false;
    set_flags(next, flags);
    return true;
  }

  bool take_logic(const Instruction& next) {
    const auto a = read(next, next.operands[0]);
    const auto b = read(next, next.operands[1]);
    if (!a || !b) return false;
    GrowingFlags flags;
    flags.kind = GrowingFlags::Kind::logic;
    const bool is_and = next.code.mnemonic == ZYDIS_MNEMONIC_AND || next.code.mnemonic == ZYDIS_MNEMONIC_TEST;
    if (is_same_register(next.operands[0], next.operands[1])) {
      flags.result = next.code.mnemonic == ZYDIS_MNEMONIC_XOR ? Growing{0, 0, a->bits} : *a;
    } else if (is_and && (a->stays() || b->stays())) {
      const Growing& x = a->stays() ? *b : *a;
      const std::uint64_t mask = low_bits(
          static_cast<std::uint64_t>(with_sign((a->stays() ? a : b)->value, (a->stays() ? a : b)->bits)),
          x.bits);
      flags.result = masked(x, mask, turns_);
    } else {
      return false;
    }
    const bool tests = next.code.mnemonic == ZYDIS_MNEMONIC_TEST;
    if (!tests && flags.result.bits != a->bits && next.operands[0].type == ZYDIS_OPERAND_TYPE_MEMORY)
      return false;
    if (!tests && !write(next, next.operands[0], flags.result)) return false;
    // Of fewer bits than were asked for: the sign stays, being above them.
    if (flags.result.bits != a->bits) {
      turns_.stays_unsigned(flags.result);
      flags.result = {flags.result.value, flags.result.steps(), a->bits};
    }
    set_flags(next, flags);
    return true;
  }

  bool take_product(const Instruction& next) {
    const std::size_t visible = next.code.operand_count_visible;
    if (visible < 2) return false;
    const auto a = read(next, next.operands[visible - 2]);
    const auto b = read(next, next.operands[visible - 1]);
    if (!a || !b || (!a->stays() && !b->stays())) return false;
    const unsigned bits = next.operands[0].size;
    const auto value = [](const Growing& x) {
      return static_cast<std::uint64_t>(with_sign(x.value, x.bits));
    };
    const Growing product{value(*a) * value(*b), a->steps() * value(*b) + b->steps() * value(*a), bits};
    if (!write(next, next.operands[0], product)) return false;
    GrowingFlags flags;
    flags.kind = GrowingFlags::Kind::unknown;
    set_flags(next, flags);
    return true;
  }

  bool take_shift(const Instruction& next) {
    const auto x = read(next, next.operands[0]);
    const auto by = read(next, next.operands[1]);
    if (!x || !by || !by->stays()) return false;
    const auto places = static_cast<unsigned>(by->value & (x->bits == 64 ? 63 : 31));
    if (places == 0 || places >= x->bits) return false;
    GrowingFlags flags;
    flags.kind = GrowingFlags::Kind::result;
    if (next.code.mnemonic == ZYDIS_MNEMONIC_SHL) {
      flags.result = {x->value << places, x->steps() << places, x->bits};
    } else {
      // Shifted out is what makes the difference; what is left of it stays.
      const bool has_sign = next.code.mnemonic == ZYDIS_MNEMONIC_SAR;
      if (has_sign) turns_.keeps_sign(*x);
      turns_.keeps_bits_from(*x, places);
      const std::uint64_t value =
          has_sign ? static_cast<std::uint64_t>(with_sign(x->value, x->bits) >> places) : x->value >> places;
      flags.result = {value, 0, x->bits};
    }
    if (!write(next, next.operands[0], flags.result)) return false;
    set_flags(next, flags);
    return true;
  }

  const Foreseeing& wanted_;
  ZydisDecoder decoder_{};
  ForesightHost host_;
  GrowingRegisters registers_;
  GrowingMemory memory_;
  GrowingFlags flags_;
  TurnsAlike turns_;
  Registers now_{};
  std::uint64_t eflags_ = 0;
  std::uintptr_t pc_ = 0;
  std::uint64_t instructions_ = 0;
  bool given_up_ = false;
  volatile bool at_end_ = false;
  volatile bool seen_end_ = false;
};

thread_local constinit Foresight* under_way = nullptr;

/// From the next instruction but one on, the processor stops after each.
void stop_after_each() {
  __asm__ volatile(
      "lea -128(%%rsp), %%rsp\n pushfq\n orq %0, (%%rsp)\n popfq\n lea 128(%%rsp), %%rsp" ::"i"(trap_flag)
      : "memory", "cc");
}

}  // namespace

std::uint64_t foresee(const Foreseeing& wanted) {
  Foresight foresight{wanted};
  for (std::uint64_t made = 0; made < wanted.round; ++made) {
    foresight.begin();
    under_way = &foresight;
    stop_after_each();
    wanted.call.make(wanted.state);
    foresight.end();
    forget_foresight();
    if (!foresight.holds() || !wanted.goes_on()) return 0;
  }
  return foresight.turns();
}

void forget_foresight() {
  under_way = nullptr;
}

bool foresee_instruction(void* given) {
  auto& context = *static_cast<ucontext_t*>(given);
  auto& flags = context.uc_mcontext.gregs[REG_EFL];
  if ((flags & static_cast<greg_t>(trap_flag)) == 0) return false;
  if (under_way == nullptr || !under_way->take_in(context)) flags &= ~static_cast<greg_t>(trap_flag);
  return true;
}

}  // namespace drybus::tools
// NOLINTEND(performance-no-int-to-ptr)

#endif
