"""What tests of several folders use: sites, records, servers, clients, and the command in processes of its own."""
