#include "spice/worker/detail/seal.h"

#include <fcntl.h>
#include <seccomp.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <csignal>
#include <cstring>
#include <memory>

#include "spice/worker/protocol.h"

namespace benchproof::worker {
namespace {

std::string failure(const char* what, int error) {
  return std::string(what) + ": " + std::strerror(error);
}

/// At most `most`, or what the user's own limits leave if that is less.
bool limit(int resource, rlim_t most) {
  const auto which = static_cast<__rlimit_resource>(resource);
  rlimit present{};
  if (getrlimit(which, &present) != 0) return false;
  const rlim_t least = std::min(most, present.rlim_max);
  const rlimit both{least, least};
  return setrlimit(which, &both) == 0;
}

// Memory, time, signals to itself, and what the C library does with open descriptors.
constexpr std::array kAllowed{SCMP_SYS(read),
                              SCMP_SYS(readv),
                              SCMP_SYS(write),
                              SCMP_SYS(writev),
                              SCMP_SYS(close),
                              SCMP_SYS(lseek),
                              SCMP_SYS(fstat),
                              SCMP_SYS(poll),
                              SCMP_SYS(ppoll),
                              SCMP_SYS(brk),
                              SCMP_SYS(munmap),
                              SCMP_SYS(madvise),
                              SCMP_SYS(futex),
                              SCMP_SYS(sched_yield),
                              SCMP_SYS(rt_sigreturn),
                              SCMP_SYS(rt_sigprocmask),
                              SCMP_SYS(sigaltstack),
                              SCMP_SYS(clock_gettime),
                              SCMP_SYS(clock_nanosleep),
                              SCMP_SYS(gettimeofday),
                              SCMP_SYS(time),
                              SCMP_SYS(times),
                              SCMP_SYS(getrusage),
                              SCMP_SYS(getpid),
                              SCMP_SYS(gettid),
                              SCMP_SYS(getppid),
                              SCMP_SYS(getuid),
                              SCMP_SYS(geteuid),
                              SCMP_SYS(getgid),
                              SCMP_SYS(getegid),
                              SCMP_SYS(sysinfo),
                              SCMP_SYS(getrandom),
                              SCMP_SYS(getcwd),
                              SCMP_SYS(restart_syscall),
                              SCMP_SYS(exit),
                              SCMP_SYS(exit_group)};

// No analysis comes near these; a process that tries them is ended.
struct Deadly {
  int call;
  wire::Breach breach;
};
constexpr std::array kDeadly{
    Deadly{SCMP_SYS(execve), wire::Breach::program},
    Deadly{SCMP_SYS(execveat), wire::Breach::program},
    Deadly{SCMP_SYS(fork), wire::Breach::program},
    Deadly{SCMP_SYS(vfork), wire::Breach::program},
    Deadly{SCMP_SYS(clone), wire::Breach::program},
    Deadly{SCMP_SYS(clone3), wire::Breach::program},
    Deadly{SCMP_SYS(socket), wire::Breach::connection},
    Deadly{SCMP_SYS(socketpair), wire::Breach::connection},
    Deadly{SCMP_SYS(pipe), wire::Breach::connection},
    Deadly{SCMP_SYS(pipe2), wire::Breach::connection},
    Deadly{SCMP_SYS(connect), wire::Breach::connection},
    Deadly{SCMP_SYS(bind), wire::Breach::connection},
    Deadly{SCMP_SYS(io_uring_setup), wire::Breach::connection},
    Deadly{SCMP_SYS(kill), wire::Breach::process},
    Deadly{SCMP_SYS(ptrace), wire::Breach::process},
    Deadly{SCMP_SYS(process_vm_readv), wire::Breach::process},
    Deadly{SCMP_SYS(process_vm_writev), wire::Breach::process}};

/// Ends the process in place of a deadly call.
void end_for(int, siginfo_t* info, void*) {
  const auto* deadly = std::find_if(
      kDeadly.begin(), kDeadly.end(),
      [info](const Deadly& known) { return known.call == info->si_syscall; });
  const auto breach = deadly == kDeadly.end() ? wire::Breach::program : deadly->breach;
  _exit(static_cast<int>(breach));
}

/// Has SIGSYS end the process with a status that tells what was tried.
bool watch_for_breaches() {
  struct sigaction action {};
  action.sa_sigaction = end_for;
  action.sa_flags = SA_SIGINFO;
  sigfillset(&action.sa_mask);
  return sigaction(SIGSYS, &action, nullptr) == 0;
}

}  // namespace

std::string limit_process(int parent) {
  if (prctl(PR_SET_PDEATHSIG, SIGKILL) != 0) return failure("parent watch", errno);
  if (getppid() != parent) return "the parent is gone";
  closefrom(wire::kWorkerSocket + 1);
  // RLIMIT_NOFILE bounds the number of a new descriptor, so nothing more can be opened.
  if (!limit(RLIMIT_AS, kAddressSpaceBytes) || !limit(RLIMIT_CPU, kCpuSeconds) ||
      !limit(RLIMIT_CORE, 0) || !limit(RLIMIT_FSIZE, 0) || !limit(RLIMIT_NPROC, 0) ||
      !limit(RLIMIT_NOFILE, wire::kWorkerSocket + 1)) {
    return failure("resource limits", errno);
  }
  return {};
}

std::string filter_system_calls() {
  if (prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) != 0) {
    return failure("giving up privileges", errno);
  }
  if (!watch_for_breaches()) return failure("signals", errno);
  const std::unique_ptr<void, void (*)(void*)> filter(
      seccomp_init(SCMP_ACT_ERRNO(EPERM)), [](void* context) {
        if (context != nullptr) seccomp_release(context);
      });
  if (filter == nullptr) return "system call filter: no memory";
  int error = 0;
  const auto note = [&error](int result) {
    if (result < 0 && error == 0) error = -result;
  };
  for (const int call : kAllowed) {
    note(seccomp_rule_add(filter.get(), SCMP_ACT_ALLOW, call, 0));
  }
  for (const Deadly& deadly : kDeadly) {
    note(seccomp_rule_add(filter.get(), SCMP_ACT_TRAP, deadly.call, 0));
  }
  // Signals may be caught, but for the one that ends the process. A process that blocks
  // it is ended by it all the same.
  note(seccomp_rule_add(filter.get(), SCMP_ACT_ALLOW, SCMP_SYS(rt_sigaction), 1,
                        SCMP_A0(SCMP_CMP_NE, static_cast<scmp_datum_t>(SIGSYS))));
  // Memory may be had, but not to run code from.
  constexpr scmp_datum_t kExec = PROT_EXEC;
  for (const int call : {SCMP_SYS(mmap), SCMP_SYS(mprotect)}) {
    note(seccomp_rule_add(filter.get(), SCMP_ACT_ALLOW, call, 1,
                          SCMP_A2(SCMP_CMP_MASKED_EQ, kExec, 0)));
  }
  note(seccomp_rule_add(filter.get(), SCMP_ACT_ALLOW, SCMP_SYS(mremap), 0));
  // The C library's fstat is newfstatat with AT_EMPTY_PATH; without it, it is for
  // paths.
  note(seccomp_rule_add(filter.get(), SCMP_ACT_ALLOW, SCMP_SYS(newfstatat), 1,
                        SCMP_A3(SCMP_CMP_MASKED_EQ, AT_EMPTY_PATH, AT_EMPTY_PATH)));
  // abort() signals the process itself.
  note(seccomp_rule_add(
      filter.get(), SCMP_ACT_ALLOW, SCMP_SYS(tgkill), 1,
      SCMP_A0(SCMP_CMP_EQ, static_cast<scmp_datum_t>(getpid()), scmp_datum_t{0})));
  if (error != 0) return failure("system call filter", error);
  if (const int loaded = seccomp_load(filter.get()); loaded < 0) {
    return failure("system call filter", -loaded);
  }
  return {};
}

}  // namespace benchproof::worker
