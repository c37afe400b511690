#include "laboratory/pdf_text.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <optional>

namespace lathbook::laboratory {
namespace {

using reason::Fault;
using reason::FaultKind;
using Clock = std::chrono::steady_clock;

constexpr std::size_t kMostSaid = 4096;  // of what the program says of a PDF

/// A file descriptor, closed when this is gone.
class Fd {
 public:
  explicit Fd(int fd = -1) : fd_(fd) {}
  ~Fd() { close(); }
  Fd(const Fd&) = delete;
  Fd& operator=(const Fd&) = delete;
  void close() {
    if (fd_ >= 0) ::close(fd_);
    fd_ = -1;
  }
  void take(int fd) {
    close();
    fd_ = fd;
  }
  [[nodiscard]] int get() const { return fd_; }
  [[nodiscard]] bool open() const { return fd_ >= 0; }

 private:
  int fd_;
};

Fault no_room() {
  return {"the report", "", "cannot be read: the operating system gives no memory or process for it", "try again later",
          FaultKind::kFile};
}

/// Where a program lies; empty when nowhere in PATH.
std::string find_program(const std::string& name) {
  if (name.find('/') != std::string::npos) return access(name.c_str(), X_OK) == 0 ? name : std::string();
  const char* set = getenv("PATH");
  const std::string_view path = set == nullptr ? "/usr/bin:/bin" : set;
  for (std::size_t at = 0; at <= path.size();) {
    const auto end = std::min(path.find(':', at), path.size());
    auto file = fmt::format("{}/{}", path.substr(at, end - at), name);
    if (end > at && access(file.c_str(), X_OK) == 0) return file;
    at = end + 1;
  }
  return {};
}

/// A file without a name that holds the bytes, to be read from its start.
bool fill(Fd& file, std::string_view bytes) {
  file.take(memfd_create("report", MFD_CLOEXEC));
  while (file.open() && !bytes.empty()) {
    const auto written = write(file.get(), bytes.data(), bytes.size());
    if (written < 0 && errno == EINTR) continue;
    if (written <= 0) return false;
    bytes.remove_prefix(static_cast<std::size_t>(written));
  }
  return file.open() && lseek(file.get(), 0, SEEK_SET) == 0;
}

void limit(int what, rlim_t most, rlim_t grace = 0) {
  const rlimit both{most, most + grace};
  setrlimit(what, &both);
}

/// What the child does before it becomes the program: only calls that are allowed between fork and exec.
[[noreturn]] void become(const char* program, char* const* words, char* const* environment, int in, int out, int err,
                         const Limits& limits) {
  dup2(in, STDIN_FILENO);
  dup2(out, STDOUT_FILENO);
  dup2(err, STDERR_FILENO);
  // The server holds signals back from its threads; the program must not inherit that.
  sigset_t none;
  sigemptyset(&none);
  sigprocmask(SIG_SETMASK, &none, nullptr);
  prctl(PR_SET_PDEATHSIG, SIGKILL);
  prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0);
  limit(RLIMIT_AS, limits.most_memory);
  limit(RLIMIT_CPU, static_cast<rlim_t>(std::max<long long>(1, limits.longest.count() / 2000)), 1);
  limit(RLIMIT_FSIZE, 0);
  limit(RLIMIT_CORE, 0);
  execve(program, words, environment);
  _exit(127);
}

struct Ended {
  std::string out;
  std::string err;
  int status = 0;
  bool too_much = false;
  bool too_long = false;
};

/// Takes in what is there now; false at its end.
bool take_in(int fd, std::string& into, std::size_t most, bool& too_much) {
  std::array<char, 65536> piece;
  const auto got = read(fd, piece.data(), piece.size());
  if (got < 0) return errno == EINTR || errno == EAGAIN;
  if (got == 0) return false;
  const auto room = most - std::min(most, into.size());
  too_much = too_much || static_cast<std::size_t>(got) > room;
  into.append(piece.data(), std::min(static_cast<std::size_t>(got), room));
  return true;
}

std::optional<Ended> run(const std::string& program, std::string_view pdf, const Limits& limits) {
  Fd in;
  if (!fill(in, pdf)) return std::nullopt;
  std::array<int, 2> out{};
  std::array<int, 2> err{};
  if (pipe2(out.data(), O_CLOEXEC) != 0) return std::nullopt;
  Fd out_read(out[0]);
  Fd out_write(out[1]);
  if (pipe2(err.data(), O_CLOEXEC) != 0) return std::nullopt;
  Fd err_read(err[0]);
  Fd err_write(err[1]);

  std::array<std::string, 6> words = {program, "-layout", "-enc", "UTF-8", "-", "-"};
  std::array<char*, 7> arguments{};
  std::transform(words.begin(), words.end(), arguments.begin(), [](std::string& word) { return word.data(); });
  std::string locale = "LC_ALL=C.UTF-8";
  std::array<char*, 2> environment = {locale.data(), nullptr};
  const pid_t child = fork();
  if (child < 0) return std::nullopt;
  if (child == 0)
    become(program.c_str(), arguments.data(), environment.data(), in.get(), out_write.get(), err_write.get(), limits);
  out_write.close();
  err_write.close();

  Ended ended;
  const auto give_up = Clock::now() + limits.longest;
  bool ignored = false;
  while (out_read.open() || err_read.open()) {
    const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(give_up - Clock::now()).count();
    ended.too_long = left <= 0;
    if (ended.too_long || ended.too_much) break;
    std::array<pollfd, 2> ends = {{{out_read.get(), POLLIN, 0}, {err_read.get(), POLLIN, 0}}};
    if (poll(ends.data(), ends.size(), static_cast<int>(left)) < 0 && errno != EINTR) break;
    if (ends[0].revents != 0 && !take_in(out_read.get(), ended.out, limits.most_text, ended.too_much)) out_read.close();
    if (ends[1].revents != 0 && !take_in(err_read.get(), ended.err, kMostSaid, ignored)) err_read.close();
  }
  if (out_read.open() || err_read.open()) kill(child, SIGKILL);
  while (waitpid(child, &ended.status, 0) < 0 && errno == EINTR) {
  }
  return ended;
}

}  // namespace

reason::Result<std::string> pdf_text(std::string_view pdf, const Limits& limits) {
  const std::string where = "the report";
  if (pdf.size() > limits.most_bytes)
    return Fault{where, fmt::format("{} bytes", pdf.size()), "is too large",
                 fmt::format("a PDF of at most {} bytes", limits.most_bytes)};
  if (!pdf.starts_with("%PDF-"))
    return Fault{where, "", "is not a PDF by its first bytes, whatever its name", "the PDF as the laboratory sent it"};
  const auto program = find_program(limits.program);
  if (program.empty())
    return Fault{where, "", "cannot be read: pdftotext is not there",
                 "the package poppler-utils; or type the results in from the paper", FaultKind::kFile};
  auto ended = run(program, pdf, limits);
  if (!ended) return no_room();
  if (ended->too_much)
    return Fault{where, "", "holds too much text for a laboratory's report",
                 fmt::format("at most {} bytes of text", limits.most_text)};
  if (ended->too_long || (WIFSIGNALED(ended->status) && WTERMSIG(ended->status) == SIGXCPU))
    return Fault{where, "", "takes too long to read", "results typed in from the paper"};
  if (WIFEXITED(ended->status) && WEXITSTATUS(ended->status) == 127)
    return Fault{where, "", "cannot be read: pdftotext does not start", "the package poppler-utils", FaultKind::kFile};
  if (ended->err.find("Incorrect password") != std::string::npos)
    return Fault{where, "", "is locked with a passphrase", "an unlocked copy; or results typed in from the paper"};
  if (!WIFEXITED(ended->status) || WEXITSTATUS(ended->status) != 0)
    return Fault{where, "", "is damaged, or no PDF that can be read", "the PDF as the laboratory sent it"};
  if (ended->out.find_first_not_of(" \t\r\n\f") == std::string::npos)
    return Fault{where, "", "holds no text: a scan or a picture", "results typed in from the paper"};
  return std::move(ended->out);
}

}  // namespace lathbook::laboratory
