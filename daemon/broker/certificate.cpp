#include "broker/certificate.h"

#include <netdb.h>
#include <openssl/err.h>
#include <openssl/ssl.h>
#include <openssl/x509v3.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <unistd.h>

#include <memory>

#include "broker/broker_login.h"

namespace plainwater::broker {
namespace {

constexpr timeval kLimit{
    1, 0};  ///< for connecting, and for each answer: whoever stops us has to wait that long

struct HostAndPort {
  std::string host, port;
};

HostAndPort host_and_port(const Broker& broker) {
  const auto address = library_address(broker.url);
  if (!address) return {};
  const std::string rest = address->substr(address->find("//") + 2);
  const auto colon = rest.rfind(':');
  std::string host = rest.substr(0, colon);
  if (host.starts_with('[') && host.ends_with(']')) host = host.substr(1, host.size() - 2);
  return {host, rest.substr(colon + 1)};
}

class Socket {
 public:
  explicit Socket(const HostAndPort& to) {
    addrinfo wanted{}, *found = nullptr;
    wanted.ai_socktype = SOCK_STREAM;
    if (::getaddrinfo(to.host.c_str(), to.port.c_str(), &wanted, &found) != 0) return;
    for (const addrinfo* at = found; at != nullptr && !connected_; at = at->ai_next)
      connected_ = try_one(*at);
    ::freeaddrinfo(found);
  }
  ~Socket() { close(); }
  Socket(const Socket&) = delete;
  Socket& operator=(const Socket&) = delete;
  int get() const { return connected_ ? handle_ : -1; }

 private:
  bool try_one(const addrinfo& at) {
    close();
    handle_ = ::socket(at.ai_family, at.ai_socktype | SOCK_CLOEXEC, at.ai_protocol);
    if (handle_ < 0) return false;
    ::setsockopt(handle_, SOL_SOCKET, SO_SNDTIMEO, &kLimit, sizeof kLimit);  // also limits connect
    ::setsockopt(handle_, SOL_SOCKET, SO_RCVTIMEO, &kLimit, sizeof kLimit);
    return ::connect(handle_, at.ai_addr, at.ai_addrlen) == 0;
  }
  void close() {
    if (handle_ >= 0) ::close(handle_);
    handle_ = -1;
  }
  int handle_ = -1;
  bool connected_ = false;
};

std::string remedy(long code, const Broker& broker, const std::string& host) {
  switch (code) {
    case X509_V_ERR_CERT_HAS_EXPIRED:
      return "give the broker a new certificate and restart it; if it has one, check this "
             "machine's clock";
    case X509_V_ERR_CERT_NOT_YET_VALID:
      return "check this machine's clock and the broker's, or wait until the certificate is valid";
    case X509_V_ERR_HOSTNAME_MISMATCH:
    case X509_V_ERR_IP_ADDRESS_MISMATCH:
      return "use the name in the certificate in broker.url, or give the broker a certificate "
             "for " +
             host;
    default: break;
  }
  return broker.certificate_authority.empty()
             ? "give broker.certificate_authority the PEM file of the authority that signed it"
             : "check that broker.certificate_authority, " + broker.certificate_authority +
                   ", is the authority that signed it";
}

using Context = std::unique_ptr<SSL_CTX, decltype(&SSL_CTX_free)>;
using Session = std::unique_ptr<SSL, decltype(&SSL_free)>;

}  // namespace

std::optional<Error> certificate_fault(const Broker& broker) {
  const HostAndPort to = host_and_port(broker);
  const Socket socket(to);
  if (socket.get() < 0) return std::nullopt;
  const Context context(SSL_CTX_new(TLS_client_method()), &SSL_CTX_free);
  const std::string& authority = broker.certificate_authority;
  if (!context || (authority.empty() ? SSL_CTX_set_default_verify_paths(context.get())
                                     : SSL_CTX_load_verify_locations(
                                           context.get(), authority.c_str(), nullptr)) != 1) {
    ERR_clear_error();
    return std::nullopt;
  }
  SSL_CTX_set_verify(context.get(), SSL_VERIFY_PEER, nullptr);
  const Session session(SSL_new(context.get()), &SSL_free);
  if (!session || SSL_set_fd(session.get(), socket.get()) != 1) return std::nullopt;
  // An IP address has no name to send; it is looked up among the certificate's addresses.
  if (X509_VERIFY_PARAM_set1_ip_asc(SSL_get0_param(session.get()), to.host.c_str()) != 1) {
    SSL_set_tlsext_host_name(session.get(), to.host.c_str());
    SSL_set1_host(session.get(), to.host.c_str());
  }
  SSL_connect(session.get());
  const long code = SSL_get_verify_result(session.get());
  ERR_clear_error();  // this thread's error queue, where the library would find it
  if (code == X509_V_OK) return std::nullopt;
  return Error{std::string("no connection: the broker's certificate is refused: ") +
                   X509_verify_cert_error_string(code),
               "broker " + broker.url, remedy(code, broker, to.host)};
}

}  // namespace plainwater::broker
