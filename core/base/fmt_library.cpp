// The parts of {fmt} that are not templates, and the instances of those that are which
// every use needs: compiled once here instead of in each file, which halves the time
// that the project takes to build. The shared library of the distribution would do as
// well, but a program that has to load it starts a millisecond later.
#include <fmt/format-inl.h>

FMT_BEGIN_NAMESPACE
namespace detail {

template dragonbox::decimal_fp<float> dragonbox::to_decimal(float) noexcept;
template dragonbox::decimal_fp<double> dragonbox::to_decimal(double) noexcept;
template std::locale locale_ref::get<std::locale>() const;
template thousands_sep_result<char> thousands_sep_impl(locale_ref);
template char decimal_point_impl(locale_ref);
template void buffer<char>::append(const char*, const char*);
template void vformat_to(buffer<char>&, string_view,
                         basic_format_args<buffer_context<char>>, locale_ref);

}  // namespace detail
FMT_END_NAMESPACE
