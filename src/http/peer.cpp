#include "http/peer.h"

#include <arpa/inet.h>
#include <linux/inet_diag.h>
#include <linux/netlink.h>
#include <linux/sock_diag.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cinttypes>
#include <cstdio>
#include <cstring>
#include <memory>
#include <optional>

namespace lathbook::http {
namespace {

struct Ends {
  sockaddr_in here{};
  sockaddr_in there{};
};

/// A socket that no process holds has no inode, and says it is root's.
Speaker speaker_of(std::uint32_t user, std::uint64_t inode) {
  return inode != 0 && (user == ::geteuid() || user == 0) ? Speaker::kOurs : Speaker::kOthers;
}

std::optional<Ends> ends_of(int socket) {
  Ends ends;
  socklen_t length = sizeof ends.here;
  if (::getsockname(socket, reinterpret_cast<sockaddr*>(&ends.here), &length) != 0) return std::nullopt;
  length = sizeof ends.there;
  if (::getpeername(socket, reinterpret_cast<sockaddr*>(&ends.there), &length) != 0) return std::nullopt;
  if (ends.here.sin_family != AF_INET || ends.there.sin_family != AF_INET) return std::nullopt;
  return ends;
}

class Handle {
 public:
  explicit Handle(int value) : value_(value) {}
  Handle(const Handle&) = delete;
  Handle& operator=(const Handle&) = delete;
  ~Handle() {
    if (value_ >= 0) ::close(value_);
  }
  [[nodiscard]] int get() const { return value_; }

 private:
  int value_;
};

/// Asks for the one socket whose own end is our peer. Nothing when the kernel does not answer such questions.
std::optional<Speaker> by_sock_diag(const Ends& ends) {
  const Handle link(::socket(AF_NETLINK, SOCK_DGRAM | SOCK_CLOEXEC, NETLINK_SOCK_DIAG));
  if (link.get() < 0) return std::nullopt;
  struct {
    nlmsghdr head{};
    inet_diag_req_v2 asked{};
  } question;
  question.head.nlmsg_len = sizeof question;
  question.head.nlmsg_type = SOCK_DIAG_BY_FAMILY;
  question.head.nlmsg_flags = NLM_F_REQUEST;
  question.asked.sdiag_family = AF_INET;
  question.asked.sdiag_protocol = IPPROTO_TCP;
  question.asked.idiag_states = ~0U;
  question.asked.id.idiag_sport = ends.there.sin_port;
  question.asked.id.idiag_dport = ends.here.sin_port;
  question.asked.id.idiag_src[0] = ends.there.sin_addr.s_addr;
  question.asked.id.idiag_dst[0] = ends.here.sin_addr.s_addr;
  question.asked.id.idiag_cookie[0] = INET_DIAG_NOCOOKIE;
  question.asked.id.idiag_cookie[1] = INET_DIAG_NOCOOKIE;
  timeval patience{1, 0};
  ::setsockopt(link.get(), SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
  if (::send(link.get(), &question, sizeof question, 0) != static_cast<ssize_t>(sizeof question)) return std::nullopt;
  alignas(nlmsghdr) std::array<char, 4096> buffer{};
  const auto got = ::recv(link.get(), buffer.data(), buffer.size(), 0);
  nlmsghdr head{};
  if (got < static_cast<ssize_t>(sizeof head)) return std::nullopt;
  std::memcpy(&head, buffer.data(), sizeof head);
  if (head.nlmsg_type == NLMSG_ERROR) {
    nlmsgerr error{};
    if (got < static_cast<ssize_t>(NLMSG_HDRLEN + sizeof error)) return std::nullopt;
    std::memcpy(&error, buffer.data() + NLMSG_HDRLEN, sizeof error);
    return error.error == -ENOENT ? std::optional(Speaker::kOthers) : std::nullopt;
  }
  inet_diag_msg told{};
  if (head.nlmsg_type != SOCK_DIAG_BY_FAMILY || got < static_cast<ssize_t>(NLMSG_HDRLEN + sizeof told))
    return std::nullopt;
  std::memcpy(&told, buffer.data() + NLMSG_HDRLEN, sizeof told);
  return speaker_of(told.idiag_uid, told.idiag_inode);
}

std::optional<Speaker> by_table(const Ends& ends) {
  const std::unique_ptr<std::FILE, int (*)(std::FILE*)> table(std::fopen("/proc/net/tcp", "re"), &std::fclose);
  if (!table) return std::nullopt;
  std::array<char, 512> line{};
  while (std::fgets(line.data(), line.size(), table.get()) != nullptr) {
    std::uint32_t address = 0;
    std::uint32_t port = 0;
    std::uint32_t to_address = 0;
    std::uint32_t to_port = 0;
    std::uint32_t user = 0;
    std::uint64_t inode = 0;
    // "0: 0100007F:1267 0100007F:C350 01 0:0 0:0 0 UID 0 INODE …": addresses as they lie in memory, ports as numbers.
    // NOLINTNEXTLINE(cert-err34-c): six numbers, or it is another line
    const int read = std::sscanf(line.data(),
                                 "%*d: %8" SCNx32 ":%4" SCNx32 " %8" SCNx32 ":%4" SCNx32
                                 " %*x %*x:%*x %*x:%*x %*x %" SCNu32 " %*d %" SCNu64,
                                 &address, &port, &to_address, &to_port, &user, &inode);
    if (read == 6 && address == ends.there.sin_addr.s_addr && port == ntohs(ends.there.sin_port) &&
        to_address == ends.here.sin_addr.s_addr && to_port == ntohs(ends.here.sin_port))
      return speaker_of(user, inode);
  }
  return std::nullopt;
}

}  // namespace

Speaker speaker_at(int socket) {
  const auto ends = ends_of(socket);
  if (!ends) return Speaker::kNotTold;
  if (const auto speaker = by_sock_diag(*ends)) return *speaker;
  return by_table(*ends).value_or(Speaker::kNotTold);
}

}  // namespace lathbook::http
