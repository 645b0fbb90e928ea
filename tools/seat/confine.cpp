#include "tools/seat/confine.h"

#include <dlfcn.h>
#include <fcntl.h>
#include <fmt/format.h>
#include <seccomp.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/syscall.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdlib>
#include <initializer_list>
#include <memory>

#include "tools/seat/gate.h"
#include "tools/seat/reports.h"

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
#define DRYBUS_SANITIZED
#elif defined(__has_feature)
#if __has_feature(address_sanitizer) || __has_feature(thread_sanitizer)
#define DRYBUS_SANITIZED
#endif
#endif

namespace drybus::tools {

namespace {

/// A scenario's process: its record, its budget, and room to spare.
constexpr rlim_t most_memory = rlim_t{8} << 30;
constexpr rlim_t most_file = rlim_t{1} << 30;

void limit(int what, rlim_t most) {
  rlimit now{};
  if (getrlimit(static_cast<__rlimit_resource_t>(what), &now) != 0) return;
  now.rlim_max = now.rlim_max == RLIM_INFINITY ? most : std::min(now.rlim_max, most);
  now.rlim_cur = now.rlim_max;
  setrlimit(static_cast<__rlimit_resource_t>(what), &now);
}

using Filter = std::unique_ptr<void, void (*)(scmp_filter_ctx)>;

void trap(const Filter& filter, std::initializer_list<int> calls) {
  for (const int call : calls) seccomp_rule_add(filter.get(), SCMP_ACT_TRAP, call, 0);
}

/// Nothing that reaches into another process, becomes another program, or changes the whole process for good.
void refuse_powers(const Filter& filter) {
  trap(filter, {SCMP_SYS(execve),
                SCMP_SYS(execveat),
                SCMP_SYS(ptrace),
                SCMP_SYS(process_vm_writev),
                SCMP_SYS(process_vm_readv),
                SCMP_SYS(setsid),
                SCMP_SYS(chdir),
                SCMP_SYS(fchdir),
                SCMP_SYS(chroot),
                SCMP_SYS(setuid),
                SCMP_SYS(setgid),
                SCMP_SYS(personality),
                SCMP_SYS(mount),
                SCMP_SYS(umount2),
                SCMP_SYS(reboot),
                SCMP_SYS(unshare),
                SCMP_SYS(setns),
                SCMP_SYS(init_module),
                SCMP_SYS(bpf),
                SCMP_SYS(keyctl),
                SCMP_SYS(io_uring_setup)});
  // The three standard streams stay as they are.
  seccomp_rule_add(filter.get(), SCMP_ACT_TRAP, SCMP_SYS(close), 1, SCMP_A0(SCMP_CMP_LE, 2));
  trap(filter, {SCMP_SYS(close_range)});
  // Whoever started this.
  seccomp_rule_add(filter.get(), SCMP_ACT_TRAP, SCMP_SYS(kill), 1,
                   SCMP_A0(SCMP_CMP_EQ, static_cast<scmp_datum_t>(getppid())));
}

/// No process but this one.
void refuse_processes(const Filter& filter) {
  trap(filter, {SCMP_SYS(fork), SCMP_SYS(vfork), SCMP_SYS(setpgid)});
  // A thread is cloned with CLONE_THREAD, a process without. The flags of clone3 cannot be seen: the C library does
  // without it where it is not there.
  seccomp_rule_add(filter.get(), SCMP_ACT_TRAP, SCMP_SYS(clone), 1,
                   SCMP_A0(SCMP_CMP_MASKED_EQ, 0x00010000, 0));
  seccomp_rule_add(filter.get(), SCMP_ACT_ERRNO(ENOSYS), SCMP_SYS(clone3), 0);
  // Signals to oneself are one's own affair.
  const auto self = static_cast<scmp_datum_t>(getpid());
  seccomp_rule_add(filter.get(), SCMP_ACT_TRAP, SCMP_SYS(kill), 1, SCMP_A0(SCMP_CMP_NE, self));
  seccomp_rule_add(filter.get(), SCMP_ACT_TRAP, SCMP_SYS(tgkill), 1, SCMP_A0(SCMP_CMP_NE, self));
  trap(filter, {SCMP_SYS(tkill), SCMP_SYS(pidfd_send_signal), SCMP_SYS(rt_sigqueueinfo)});
}

/// Files are read and not written; nothing goes over a network.
void refuse_outputs(const Filter& filter) {
  for (const unsigned bit : {static_cast<unsigned>(O_WRONLY), static_cast<unsigned>(O_RDWR),
                             static_cast<unsigned>(O_CREAT), static_cast<unsigned>(O_TRUNC)}) {
    seccomp_rule_add(filter.get(), SCMP_ACT_TRAP, SCMP_SYS(open), 1, SCMP_A1(SCMP_CMP_MASKED_EQ, bit, bit));
    seccomp_rule_add(filter.get(), SCMP_ACT_TRAP, SCMP_SYS(openat), 1, SCMP_A2(SCMP_CMP_MASKED_EQ, bit, bit));
  }
  trap(filter,
       {SCMP_SYS(creat),    SCMP_SYS(openat2),   SCMP_SYS(unlink),  SCMP_SYS(unlinkat),  SCMP_SYS(rename),
        SCMP_SYS(renameat), SCMP_SYS(renameat2), SCMP_SYS(mkdir),   SCMP_SYS(mkdirat),   SCMP_SYS(rmdir),
        SCMP_SYS(link),     SCMP_SYS(linkat),    SCMP_SYS(symlink), SCMP_SYS(symlinkat), SCMP_SYS(chmod),
        SCMP_SYS(fchmod),   SCMP_SYS(fchmodat),  SCMP_SYS(chown),   SCMP_SYS(truncate),  SCMP_SYS(mknod),
        SCMP_SYS(socket),   SCMP_SYS(connect),   SCMP_SYS(bind)});
}

}  // namespace

void confine(Confinement confinement) {
#ifdef DRYBUS_SANITIZED
  static_cast<void>(confinement);
  static_cast<void>(limit), static_cast<void>(refuse_powers), static_cast<void>(refuse_processes),
      static_cast<void>(refuse_outputs);
#else
  limit(RLIMIT_CORE, 0);
  hide_cycles();
  if (confinement == Confinement::scenario) {
    // The shadow of AddressSanitizer, which a firmware may be built with, takes all the addresses there are.
    if (dlsym(RTLD_DEFAULT, "__asan_init") == nullptr) limit(RLIMIT_AS, most_memory);
    limit(RLIMIT_FSIZE, most_file);
  }
  const Filter filter{seccomp_init(SCMP_ACT_ALLOW), seccomp_release};
  if (filter == nullptr) return;
  refuse_powers(filter);
  if (confinement != Confinement::supervisor) refuse_processes(filter);
  if (confinement == Confinement::scenario) refuse_outputs(filter);
  // The runtimes of sanitizers read files for their reports.
  if (confinement != Confinement::supervisor)
    close_gate(confinement == Confinement::scenario && !sanitizers_report());
  seccomp_load(filter.get());  // where there is none, the limits hold alone
#endif
}

std::string system_call_name(int number) {
  const std::unique_ptr<char, void (*)(void*)> name{
      seccomp_syscall_resolve_num_arch(SCMP_ARCH_NATIVE, number), std::free};
  return name == nullptr ? fmt::format("{}", number) : name.get();
}

}  // namespace drybus::tools
