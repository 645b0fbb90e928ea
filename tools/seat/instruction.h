// An instruction of the processor (x86-64) and its operands, read by Zydis. Only for tools/seat/foresight.cpp.
#pragma once

#include <Zydis/Zydis.h>
#include <ucontext.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>

#include "tools/seat/shadow.h"

// NOLINTBEGIN(performance-no-int-to-ptr): addresses are numbers in instructions
namespace drybus::tools {

inline constexpr std::size_t longest_instruction = 15;
inline constexpr std::size_t most_operands = ZYDIS_MAX_OPERAND_COUNT;

/// By their numbers in instructions: the general registers, and where a signal's handler finds them.
inline constexpr std::size_t rax = 0;
inline constexpr std::size_t rsp = 4;
inline constexpr std::size_t rbp = 5;
inline constexpr std::array register_places = {REG_RAX, REG_RCX, REG_RDX, REG_RBX, REG_RSP, REG_RBP,
                                               REG_RSI, REG_RDI, REG_R8,  REG_R9,  REG_R10, REG_R11,
                                               REG_R12, REG_R13, REG_R14, REG_R15};

struct Instruction {
  ZydisDecodedInstruction code;
  std::array<ZydisDecodedOperand, most_operands> operands;
  std::uintptr_t at = 0;
};

/// Which of the general registers a register is part of; register_count for any other.
inline std::size_t number_of(ZydisRegister name) {
  const ZydisRegister whole = ZydisRegisterGetLargestEnclosing(ZYDIS_MACHINE_MODE_LONG_64, name);
  const bool is_general = whole >= ZYDIS_REGISTER_RAX && whole <= ZYDIS_REGISTER_R15;
  return is_general ? static_cast<std::size_t>(whole - ZYDIS_REGISTER_RAX) : register_count;
}

inline bool is_high_byte(ZydisRegister name) {
  return name >= ZYDIS_REGISTER_AH && name <= ZYDIS_REGISTER_BH;
}

/// The thread's own segment: nothing in it grows, for firmware has no variables there.
inline bool is_of_the_thread(const ZydisDecodedOperand& operand) {
  return operand.mem.segment == ZYDIS_REGISTER_FS || operand.mem.segment == ZYDIS_REGISTER_GS;
}

/// Reads the instruction at next.at. False: there is none.
inline bool decode(const ZydisDecoder& decoder, Instruction& next) {
  static const auto page = static_cast<std::uintptr_t>(sysconf(_SC_PAGESIZE));
  const std::size_t in_page = page - next.at % page;
  const auto* bytes = reinterpret_cast<const void*>(next.at);
  const auto done = [&](std::size_t length) {
    return ZYAN_SUCCESS(ZydisDecoderDecodeFull(&decoder, bytes, length, &next.code, next.operands.data()));
  };
  return done(std::min(longest_instruction, in_page)) || done(longest_instruction);
}

/// Where an operand in memory lies.
inline std::uintptr_t address_of(const Registers& now, const Instruction& next,
                                 const ZydisDecodedOperand& operand) {
  std::uint64_t address =
      operand.mem.disp.has_displacement ? static_cast<std::uint64_t>(operand.mem.disp.value) : 0;
  if (operand.mem.base == ZYDIS_REGISTER_RIP) address += next.at + next.code.length;
  if (const std::size_t base = number_of(operand.mem.base); base != register_count) address += now[base];
  if (const std::size_t index = number_of(operand.mem.index); index != register_count)
    address += now[index] * operand.mem.scale;
  // What is pushed lies below where the stack ends now.
  const bool pushes = operand.visibility == ZYDIS_OPERAND_VISIBILITY_HIDDEN &&
                      operand.mem.base == ZYDIS_REGISTER_RSP &&
                      (operand.actions & ZYDIS_OPERAND_ACTION_MASK_WRITE) != 0;
  return pushes ? address - operand.size / 8 : address;
}

/// What an instruction asks the flags; nothing when it is not known.
inline std::optional<GrowingFlags::Condition> condition_of(const Instruction& next) {
  switch (next.code.meta.category) {
    case ZYDIS_CATEGORY_COND_BR:
    case ZYDIS_CATEGORY_CMOV:
    case ZYDIS_CATEGORY_SETCC:
      return static_cast<GrowingFlags::Condition>((next.code.opcode & 0xf) >> 1);
    default:
      break;
  }
  const bool carries = next.code.mnemonic == ZYDIS_MNEMONIC_SBB || next.code.mnemonic == ZYDIS_MNEMONIC_ADC;
  return carries ? std::optional{GrowingFlags::Condition::below} : std::nullopt;
}

/// Whether a condition is so, by its number in instructions.
inline bool is_so(std::uint64_t eflags, unsigned condition) {
  const auto flag = [&](unsigned bit) { return (eflags >> bit & 1) != 0; };
  const bool carry = flag(0), parity = flag(2), zero = flag(6), sign = flag(7), overflow = flag(11);
  const std::array all = {
      overflow, carry, zero, carry || zero, sign, parity, sign != overflow, zero || sign != overflow};
  return all[condition >> 1] != ((condition & 1) != 0);
}

/// Then it leaves the flags as they are.
inline bool may_shift_by_nothing(const Instruction& next) {
  const auto category = next.code.meta.category;
  return (category == ZYDIS_CATEGORY_SHIFT || category == ZYDIS_CATEGORY_ROTATE) &&
         next.operands[1].type == ZYDIS_OPERAND_TYPE_REGISTER;
}

inline bool is_same_register(const ZydisDecodedOperand& a, const ZydisDecodedOperand& b) {
  return a.type == ZYDIS_OPERAND_TYPE_REGISTER && b.type == ZYDIS_OPERAND_TYPE_REGISTER &&
         a.reg.value == b.reg.value;
}

/// The low bits of x, where the mask has these; else all that is left of it has to stay.
inline Growing masked(const Growing& x, std::uint64_t mask, TurnsAlike& turns) {
  if (mask == 0) return {0, 0, x.bits};
  if ((mask & (mask + 1)) == 0 && mask != low_bits(~std::uint64_t{0}, x.bits))
    return x.low(static_cast<unsigned>(__builtin_popcountll(mask)));
  if (mask == low_bits(~std::uint64_t{0}, x.bits)) return x;
  turns.keeps_bits_from(x, static_cast<unsigned>(__builtin_ctzll(mask)));
  return {x.value & mask, 0, x.bits};
}

}  // namespace drybus::tools
// NOLINTEND(performance-no-int-to-ptr)
