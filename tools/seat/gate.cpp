#include "tools/seat/gate.h"

#include <dlfcn.h>
#include <fcntl.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <stddef.h>
#include <sys/auxv.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <ucontext.h>

#include <algorithm>
#include <array>
#include <cstdint>
#include <cstring>
#include <fstream>
#include <string>
#include <vector>

#include "tools/seat/black_box.h"

#if defined(__x86_64__)
// A system call with its number and six arguments, at a known place.
extern "C" long drybus_gate(long number, long a, long b, long c, long d, long e, long f);
extern "C" const char drybus_gate_passed[];
__asm__(R"(
.text
.globl drybus_gate
.hidden drybus_gate
.type drybus_gate, @function
drybus_gate:
  mov %rdi, %rax
  mov %rsi, %rdi
  mov %rdx, %rsi
  mov %rcx, %rdx
  mov %r8, %r10
  mov %r9, %r8
  mov 8(%rsp), %r9
  syscall
.globl drybus_gate_passed
.hidden drybus_gate_passed
drybus_gate_passed:
  ret
.size drybus_gate, .-drybus_gate
)");
#endif

namespace drybus::tools {

namespace {

bool strangers = false;
/// Made beforehand: a handler of signals looks nothing up.
std::string asks_while_loading;

#if defined(__x86_64__)

constexpr std::array writing = {
    SYS_creat, SYS_openat2, SYS_unlink,   SYS_unlinkat, SYS_rename, SYS_renameat, SYS_renameat2,
    SYS_mkdir, SYS_mkdirat, SYS_rmdir,    SYS_link,     SYS_linkat, SYS_symlink,  SYS_symlinkat,
    SYS_chmod, SYS_chown,   SYS_truncate, SYS_mknod,    SYS_socket, SYS_connect,  SYS_bind};
constexpr std::array opening = {SYS_open, SYS_openat};
/// For what no two runs are told alike: the time of the computer, and chance.
constexpr std::array asking = {SYS_time, SYS_times, SYS_gettimeofday, SYS_clock_gettime, SYS_getrandom};
/// It could have the count of cycles told again.
constexpr std::array changing = {SYS_prctl};
constexpr int by_filter = 1;  // SYS_SECCOMP, which the C library does not name
constexpr unsigned writes = O_WRONLY | O_RDWR | O_CREAT | O_TRUNC;

using Code = std::vector<sock_filter>;

void load(Code& code, std::size_t offset) {
  code.push_back(BPF_STMT(BPF_LD | BPF_W | BPF_ABS, static_cast<unsigned>(offset)));
}

/// The next instruction is left out unless the number is that.
void unless_equal_skip(Code& code, std::uint64_t number, std::uint8_t skipped = 1) {
  code.push_back(BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, static_cast<unsigned>(number), 0, skipped));
}

/// Returns ALLOW when the call comes from the gate, else TRAP. Six instructions.
void decide(Code& code) {
  const auto passed = reinterpret_cast<std::uintptr_t>(&drybus_gate_passed);
  load(code, offsetof(seccomp_data, instruction_pointer));
  unless_equal_skip(code, passed & 0xffff'ffff, 3);
  load(code, offsetof(seccomp_data, instruction_pointer) + 4);
  unless_equal_skip(code, passed >> 32);
  code.push_back(BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW));
  code.push_back(BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_TRAP));
}
constexpr std::uint8_t length_of_decide = 6;

void trap(Code& code, long number) {
  load(code, offsetof(seccomp_data, nr));
  unless_equal_skip(code, static_cast<std::uint64_t>(number), length_of_decide);
  decide(code);
}

void trap_when_it_writes(Code& code, long number, std::size_t argument) {
  load(code, offsetof(seccomp_data, nr));
  unless_equal_skip(code, static_cast<std::uint64_t>(number), length_of_decide + 2);
  load(code, offsetof(seccomp_data, args) + 8 * argument);
  code.push_back(BPF_JUMP(BPF_JMP | BPF_JSET | BPF_K, writes, 0, length_of_decide));
  decide(code);
}

void on_refused(int signal, siginfo_t* info, void* context) {
  if (let_through(*info, context)) return;
  ::signal(signal, SIG_DFL);
  ::raise(signal);
}

void on_cycles(int signal, siginfo_t* info, void* context) {
  if (tell_cycles(*info, context)) return;
  ::signal(signal, SIG_DFL);
  ::raise(signal);
}

/// The guard's own, where there is one already, knows whether a firmware is running.
void install_handler(int signal, void (*handler)(int, siginfo_t*, void*)) {
  struct sigaction action {};
  sigaction(signal, nullptr, &action);
  if ((action.sa_flags & SA_SIGINFO) != 0) return;
  action.sa_sigaction = handler;
  action.sa_flags = SA_SIGINFO | SA_ONSTACK | SA_NODEFER;
  sigemptyset(&action.sa_mask);
  sigaction(signal, &action, nullptr);
}

long set_cycles(long how) {
  return drybus_gate(SYS_prctl, PR_SET_TSC, how, 0, 0, 0, 0);
}

/// Bytes of the instruction that asks for the count, 0 for any other. The count itself goes to RDX and RAX; one of the two
/// instructions tells in RCX which processor it was.
std::size_t length_of_asking(std::uintptr_t at) {
  constexpr std::array<unsigned char, 2> count = {0x0f, 0x31};
  constexpr std::array<unsigned char, 3> count_and_which = {0x0f, 0x01, 0xf9};
  // Where an instruction was met, its bytes can be read.
  const auto* bytes = reinterpret_cast<const unsigned char*>(at);  // NOLINT(performance-no-int-to-ptr)
  if (std::equal(count.begin(), count.end(), bytes)) return count.size();
  return std::equal(count_and_which.begin(), count_and_which.end(), bytes) ? count_and_which.size() : 0;
}

/// What the kernel maps into each process, for clocks that need no call: so many bytes at most.
constexpr std::uintptr_t most_of_the_kernels_page = 0x4000;

bool is_of_a_clock(std::uintptr_t at) {
  const auto begin = static_cast<std::uintptr_t>(getauxval(AT_SYSINFO_EHDR));
  return begin != 0 && at - begin < most_of_the_kernels_page;
}

#endif

}  // namespace

bool is_being_traced() {
  std::ifstream status{"/proc/self/status"};
  for (std::string word; status >> word;) {
    if (word == "TracerPid:") return status >> word && word != "0";
  }
  return false;
}

void close_gate([[maybe_unused]] bool to_readers) {
#if defined(__x86_64__)
  install_handler(SIGSYS, on_refused);
  Code code;
  for (const long number : writing) trap(code, number);
  for (const long number : asking) trap(code, number);
  // A debugger stops at each that is trapped, and nothing is hidden from who sits there.
  if (!is_being_traced()) {
    for (const long number : changing) trap(code, number);
  }
  if (to_readers) {
    for (const long number : opening) trap(code, number);
  } else {
    trap_when_it_writes(code, SYS_open, 1);
    trap_when_it_writes(code, SYS_openat, 2);
  }
  code.push_back(BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW));
  const sock_fprog program{static_cast<unsigned short>(code.size()), code.data()};
  prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0);
  prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &program);
#endif
}

void strangers_at_the_gate(bool there) {
  strangers = there;
  if (there)
    asks_while_loading =
        model::in_words_spoken(model::msg(" and asks the processor for its count of cycles"));
}

void hide_cycles() {
#if defined(__x86_64__)
  static bool hidden = false;
  if (hidden || dlsym(RTLD_DEFAULT, "__asan_init") != nullptr || is_being_traced()) return;
  hidden = true;
  install_handler(SIGSEGV, on_cycles);
  set_cycles(PR_TSC_SIGSEGV);
#endif
}

Asks asks_for_cycles(const siginfo_t& info, void* context) {
#if defined(__x86_64__)
  constexpr unsigned address_bits = 47;
  const auto at = static_cast<std::uintptr_t>(static_cast<ucontext_t*>(context)->uc_mcontext.gregs[REG_RIP]);
  // Anything else that the processor refuses looks like it, a jump to where no address can be among it.
  if (info.si_signo != SIGSEGV || info.si_code != SI_KERNEL || at >> address_bits != 0) return Asks::nothing;
  if (length_of_asking(at) == 0) return Asks::nothing;
  return is_of_a_clock(at) ? Asks::clock : Asks::cycles;
#else
  static_cast<void>(info), static_cast<void>(context);
  return Asks::nothing;
#endif
}

bool tell_cycles(const siginfo_t& info, void* context) {
#if defined(__x86_64__)
  const Asks asks = asks_for_cycles(info, context);
  if (asks == Asks::nothing) return false;
  if (strangers && asks == Asks::cycles) {
    note_more(asks_while_loading.c_str());
    return false;
  }
  set_cycles(PR_TSC_ENABLE);
  unsigned which = 0;
  const std::uint64_t count = __builtin_ia32_rdtscp(&which);
  set_cycles(PR_TSC_SIGSEGV);
  auto& registers = static_cast<ucontext_t*>(context)->uc_mcontext.gregs;
  const std::size_t length = length_of_asking(static_cast<std::uintptr_t>(registers[REG_RIP]));
  registers[REG_RAX] = static_cast<greg_t>(count & 0xffff'ffffu);
  registers[REG_RDX] = static_cast<greg_t>(count >> 32);
  if (length == 3) registers[REG_RCX] = static_cast<greg_t>(which);
  registers[REG_RIP] += static_cast<greg_t>(length);
  return true;
#else
  static_cast<void>(info), static_cast<void>(context);
  return false;
#endif
}

bool let_through(const siginfo_t& info, void* context) {
#if defined(__x86_64__)
  const auto is_in = [&](const auto& calls) {
    return std::find(calls.begin(), calls.end(), info.si_syscall) != calls.end();
  };
  const bool asks = is_in(asking);
  if (info.si_code != by_filter || (!asks && !is_in(changing) && !is_in(writing) && !is_in(opening)))
    return false;
  if (strangers && !asks) return false;
  if (info.si_call_addr == &drybus_gate_passed) return false;  // another filter is against it
  auto& registers = static_cast<ucontext_t*>(context)->uc_mcontext.gregs;
  registers[REG_RAX] =
      drybus_gate(info.si_syscall, registers[REG_RDI], registers[REG_RSI], registers[REG_RDX],
                  registers[REG_R10], registers[REG_R8], registers[REG_R9]);
  return true;
#else
  static_cast<void>(info), static_cast<void>(context);
  return false;
#endif
}

}  // namespace drybus::tools
