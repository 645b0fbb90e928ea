#include "tools/seat/gate.h"

#include <fcntl.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <stddef.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <ucontext.h>

#include <algorithm>
#include <array>
#include <cstdint>
#include <vector>

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

#if defined(__x86_64__)

constexpr std::array writing = {
    SYS_creat, SYS_openat2, SYS_unlink,   SYS_unlinkat, SYS_rename, SYS_renameat, SYS_renameat2,
    SYS_mkdir, SYS_mkdirat, SYS_rmdir,    SYS_link,     SYS_linkat, SYS_symlink,  SYS_symlinkat,
    SYS_chmod, SYS_chown,   SYS_truncate, SYS_mknod,    SYS_socket, SYS_connect,  SYS_bind};
constexpr std::array opening = {SYS_open, SYS_openat};
/// For what no two runs are told alike: the time of the computer, and chance.
constexpr std::array asking = {SYS_time, SYS_times, SYS_gettimeofday, SYS_clock_gettime, SYS_getrandom};
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

/// The guard's own, where there is one already, knows whether a firmware is running.
void install_handler() {
  struct sigaction action {};
  sigaction(SIGSYS, nullptr, &action);
  if ((action.sa_flags & SA_SIGINFO) != 0) return;
  action.sa_sigaction = on_refused;
  action.sa_flags = SA_SIGINFO | SA_ONSTACK | SA_NODEFER;
  sigemptyset(&action.sa_mask);
  sigaction(SIGSYS, &action, nullptr);
}

#endif

}  // namespace

void close_gate([[maybe_unused]] bool to_readers) {
#if defined(__x86_64__)
  install_handler();
  Code code;
  for (const long number : writing) trap(code, number);
  for (const long number : asking) trap(code, number);
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
}

bool let_through(const siginfo_t& info, void* context) {
#if defined(__x86_64__)
  const auto is_in = [&](const auto& calls) {
    return std::find(calls.begin(), calls.end(), info.si_syscall) != calls.end();
  };
  const bool asks = is_in(asking);
  if (info.si_code != by_filter || (!asks && !is_in(writing) && !is_in(opening))) return false;
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
