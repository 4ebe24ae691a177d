//! Benches at work, and drivers against real parts: pseudo-terminals, Modbus servers, a broker, a web server, a file.

mod check;
mod csv_file;
mod display;
mod examples;
mod http;
mod kept;
mod modbus;
mod modbus_heater;
mod mqtt;
mod serial;
mod serial_heater;
mod simulated_run;
mod support;
