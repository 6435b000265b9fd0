// Seals itself as the worker does and then does the deed it is told to: see
// test_worker_seal.cpp. Ends with 0 if the deed could be done and with 50 if it was
// refused; else the seal has ended it.
#include <fcntl.h>
#include <linux/io_uring.h>
#include <netinet/in.h>
#include <pthread.h>
#include <sched.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/ptrace.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <functional>
#include <map>
#include <string>

#include "spice/worker/detail/seal.h"

namespace {

enum Status { kDone = 0, kRefused = 50, kNoSeal = 60, kNoSuchDeed = 61 };

const std::string kPlace = "/tmp/";

long page_to_run_code(bool at_once) {
  constexpr std::size_t kBytes = 4096;
  const int wanted = PROT_READ | PROT_WRITE | (at_once ? PROT_EXEC : 0);
  // cppcheck-suppress invalidFunctionArg ; no file is mapped, and -1 says so.
  void* page = mmap(nullptr, kBytes, wanted, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
  if (page == MAP_FAILED) return -1;
  return at_once ? 0 : mprotect(page, kBytes, PROT_READ | PROT_EXEC);
}

void nothing(int) {}

long threads() {
  pthread_t thread{};
  const auto idle = [](void*) -> void* { return nullptr; };
  return pthread_create(&thread, nullptr, idle, nullptr) == 0 ? 0 : -1;
}

long more_memory() {
  for (int k = 0; k < 64; ++k) {
    // Written to, so that it is had and not only promised.
    void* block = malloc(16U << 20U);
    if (block == nullptr) return -1;
    static_cast<volatile char*>(block)[0] = 1;
  }
  return 0;
}

long foreign_call() {
#ifdef __x86_64__
  long result = 20;  // getpid of the 32-bit architecture.
  asm volatile("int $0x80" : "+a"(result) : : "memory");
  return result;
#else
  return syscall(SYS_kill, getppid(), 0);
#endif
}

long blocked_signal() {
  sigset_t all;
  sigfillset(&all);
  sigprocmask(SIG_SETMASK, &all, nullptr);
  return socket(AF_INET, SOCK_STREAM, 0);
}

char* const kNone[] = {nullptr};

// Each gives -1 when refused.
const std::map<std::string, std::function<long()>> kDeeds = {
    {"nothing", [] { return 0L; }},
    {"execve", [] { return static_cast<long>(execve("/bin/true", kNone, kNone)); }},
    {"execveat",
     [] { return syscall(SYS_execveat, AT_FDCWD, "/bin/true", kNone, kNone, 0); }},
    {"fork", [] { return static_cast<long>(fork()); }},
    {"clone", [] { return syscall(SYS_clone, SIGCHLD, 0, 0, 0, 0); }},
    {"thread", threads},
    {"system", [] { return static_cast<long>(std::system("true")); }},
    {"socket", [] { return static_cast<long>(socket(AF_INET, SOCK_STREAM, 0)); }},
    {"unix-socket", [] { return static_cast<long>(socket(AF_UNIX, SOCK_DGRAM, 0)); }},
    {"pipe",
     [] {
       int ends[2];
       return static_cast<long>(pipe(ends));
     }},
    {"connect",
     [] {
       sockaddr_in there{};
       there.sin_family = AF_INET;
       return static_cast<long>(
           connect(3, reinterpret_cast<const sockaddr*>(&there), sizeof there));
     }},
    {"io-uring",
     [] {
       io_uring_params parameters{};
       return syscall(SYS_io_uring_setup, 4, &parameters);
     }},
    {"blocked-signal", blocked_signal},
    {"kill-parent", [] { return static_cast<long>(kill(getppid(), 0)); }},
    {"kill-all", [] { return static_cast<long>(kill(-1, 0)); }},
    {"trace", [] { return ptrace(PTRACE_ATTACH, getppid(), nullptr, nullptr); }},
    {"read-parent",
     [] {
       char byte = 0;
       const iovec here{&byte, 1};
       return static_cast<long>(process_vm_readv(getppid(), &here, 1, &here, 1, 0));
     }},
    {"signal-parent", [] { return syscall(SYS_tgkill, getppid(), getppid(), 0); }},
    {"foreign-call", foreign_call},
    {"read-file", [] { return static_cast<long>(open("/etc/passwd", O_RDONLY)); }},
    {"write-file",
     [] {
       const std::string path = kPlace + "benchproof-breach";
       return static_cast<long>(open(path.c_str(), O_CREAT | O_WRONLY, 0600));
     }},
    {"look-up",
     [] {
       struct stat found {};
       return static_cast<long>(stat("/etc/passwd", &found));
     }},
    {"list-folder",
     [] { return static_cast<long>(open(".", O_RDONLY | O_DIRECTORY)); }},
    {"make-folder", [] { return static_cast<long>(mkdir("breach", 0700)); }},
    {"remove", [] { return static_cast<long>(unlink("/tmp/benchproof-breach")); }},
    {"rename", [] { return static_cast<long>(rename("/tmp/a", "/tmp/b")); }},
    {"link", [] { return static_cast<long>(symlink("/tmp/a", "/tmp/b")); }},
    {"change-folder", [] { return static_cast<long>(chdir("/")); }},
    {"truncate", [] { return static_cast<long>(ftruncate(1, 0)); }},
    {"duplicate", [] { return static_cast<long>(dup(1)); }},
    {"descriptor-in-memory", [] { return syscall(SYS_memfd_create, "x", 0); }},
    {"code-at-once", [] { return page_to_run_code(true); }},
    {"code-later", [] { return page_to_run_code(false); }},
    {"catch-the-seal",
     [] { return static_cast<long>(signal(SIGSYS, nothing) == SIG_ERR ? -1 : 0); }},
    {"raise-limits",
     [] {
       const rlimit most{RLIM_INFINITY, RLIM_INFINITY};
       return static_cast<long>(setrlimit(RLIMIT_AS, &most));
     }},
    {"outlive-parent", [] { return static_cast<long>(prctl(PR_SET_PDEATHSIG, 0)); }},
    {"mount", [] { return syscall(SYS_mount, "none", "/tmp", "tmpfs", 0, nullptr); }},
    {"namespace", [] { return static_cast<long>(unshare(CLONE_NEWUSER)); }},
    {"user", [] { return static_cast<long>(setuid(0)); }},
    {"memory", more_memory},
    {"crash",
     [] {
       raise(SIGSEGV);
       return 0L;
     }},
    {"abort", []() -> long { std::abort(); }},
};

}  // namespace

int main(int count, char** arguments) {
  const auto deed = kDeeds.find(count == 2 ? arguments[1] : "");
  if (deed == kDeeds.end()) return kNoSuchDeed;
  if (!benchproof::worker::limit_process(getppid()).empty() ||
      !benchproof::worker::filter_system_calls().empty())
    _exit(kNoSeal);
  _exit(deed->second() == -1 ? kRefused : kDone);
}
