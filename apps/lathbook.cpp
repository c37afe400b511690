#include <fcntl.h>
#include <malloc.h>
#include <termios.h>
#include <unistd.h>

#include <cstdlib>
#include <exception>
#include <iostream>
#include <optional>
#include <string>
#include <vector>

#include "cli/cli.h"
#include "service/clock.h"

namespace {

/// Asks on the terminal itself, whatever standard input and output are, with what is typed not shown.
std::optional<std::string> ask_secret(const std::string& question) {
  const int terminal = ::open("/dev/tty", O_RDWR | O_CLOEXEC);
  if (terminal < 0) return std::nullopt;
  termios as_it_was{};
  std::optional<std::string> answer;
  if (::tcgetattr(terminal, &as_it_was) == 0) {
    termios hidden = as_it_was;
    hidden.c_lflag &= ~static_cast<tcflag_t>(ECHO);
    hidden.c_lflag |= ECHONL;
    ::tcsetattr(terminal, TCSAFLUSH, &hidden);
    std::string line;
    char typed = 0;
    if (::write(terminal, question.data(), question.size()) > 0) {
      while (::read(terminal, &typed, 1) == 1 && typed != '\n') line += typed;
    }
    ::tcsetattr(terminal, TCSAFLUSH, &as_it_was);
    if (!line.empty()) answer = std::move(line);
  }
  ::close(terminal);
  return answer;
}

}  // namespace

int main(int argc, char** argv) {
  std::ios::sync_with_stdio(false);
  // One answer and gone: memory let go of is kept for the next to ask, not handed back to the system and fetched anew.
  mallopt(M_MMAP_THRESHOLD, 1 << 30);
  mallopt(M_TRIM_THRESHOLD, 1 << 30);
  mallopt(M_TOP_PAD, 1 << 20);
  const char* no_colour = std::getenv("NO_COLOR");  // NOLINT(concurrency-mt-unsafe): there is one thread yet
  const lathbook::cli::World world{std::cin,
                                   std::cout,
                                   std::cerr,
                                   isatty(STDOUT_FILENO) == 1,
                                   no_colour != nullptr && *no_colour != '\0',
                                   lathbook::service::now_utc(),
                                   lathbook::service::today_here(),
                                   ask_secret};
  try {
    const int status = lathbook::cli::run(std::vector<std::string>(argv + 1, argv + argc), world);
    std::cout.flush();
    if (!std::cout) {
      std::cerr << "lathbook: the answer could not be written out whole\n";
      return 1;
    }
    // Every book is closed by now; what is left is tables in memory, which the system takes back faster than we could.
    std::_Exit(status);
  } catch (const std::exception& broken) {
    std::cerr << "lathbook: a fault of the program itself, not yours: " << broken.what() << "\n";
    return 1;
  }
}
